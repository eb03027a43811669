"""Simulated studios, no draws from the model, and how well they are forecast.

A studio has a hand, techniques with offsets of their own, and for each layer a film that grows with
size as a power law, towards a plateau or with a kink; sides that take more or less than the face;
luck with longer tails than the normal distribution, alike or not from layer to layer. Each world
turns one of these. Only the straight line through common practice is shared, and the truth is
centred away from it.
"""

import warnings
from dataclasses import dataclass
from functools import cache
from math import exp, inf, log, pi, sqrt

import numpy as np
from scipy import stats
from scipy.special import beta
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel
from threadpoolctl import threadpool_limits

from pricing.estimating import coverage, surfaces
from studio.units import round_up_to_measure

COMMON = coverage.common_practice()
AFTER = (0, 1, 3, 10, 30, 100)
IN_MM = 25.4
# Width, height and depth in inches, as they are sold; those that are large come last.
SIZES_IN = [
    (4, 4, 0.25), (4.25, 4.25, 0.3), (6, 6, 0.25), (5, 7, 0.75), (6, 6, 1.5), (8, 8, 0.75),
    (8, 8, 1.5), (8, 10, 0.75), (9, 12, 0.75), (10, 10, 1.5), (10, 20, 0.75), (11, 14, 0.75),
    (12, 12, 0.75), (12, 12, 1.5), (12, 16, 0.75), (16, 20, 0.75),
]  # fmt: skip  # a table of sizes
LARGE_IN = [(24, 24, 0.75), (24, 30, 1.5), (24, 36, 0.75), (30, 40, 1.5), (36, 48, 1.5)]
# Each technique over its base, as one studio pours it.
KINDS = [
    ("bloom", ""), ("swipe", ""), ("flip-cup", "thin"), ("flip-cup", "flooded"),
    ("straight-pour", ""), ("ring-pour", "thin"), ("ring-pour", "flooded"), ("blow-out", ""),
]  # fmt: skip  # a table of kinds


@dataclass(frozen=True)
class World:
    """What is unusual about its studios; the rest is as in the ordinary one."""

    name: str
    noise: float = 0.15
    alike: float = 0.5
    hand: float | None = None
    offset: float = 0.15  # of techniques, sd
    away: float = 0.2  # of all the truth from common practice, sd
    sides: float = 0.3  # how far sides take more or less than the face
    drift: float = 1.0  # the hand after a hundred pours
    spilled: float = 0.0
    sizes: tuple[int, int] = (3, 7)
    curves: tuple[str, ...] = ("power", "plateau", "kink")
    deep: bool = False


WORLDS = [
    World("ordinary"),
    World("careful", noise=0.05),
    World("careless", noise=0.30),
    World("luck apart", alike=0.1),
    World("luck alike", alike=0.9),
    World("powers", curves=("power",)),
    World("plateaus", curves=("plateau",)),
    World("kinks", curves=("kink",)),
    World("offsets", offset=0.4),
    World("deep sides", sides=0.6, deep=True),
    World("light hand", hand=0.6),
    World("heavy hand", hand=1.6),
    World("spills", spilled=0.1),
    World("drift", drift=0.6),
    World("few sizes", sizes=(1, 3)),
    World("far from practice", away=0.45),
]


@cache
def practice(technique, base, layer):
    """Return common practice's middle size, ln(film) there, and its slope, by least squares."""
    rows = [
        row for row in COMMON if (row.technique, row.base, row.layer) == (technique, base, layer)
    ]
    sizes = np.array([row.size for row in rows])
    films = np.log([row.volume_ml * 1000 / row.wetted_area_mm2 for row in rows])
    if np.ptp(sizes) == 0:
        return sizes.mean(), films.mean(), 0.0
    slope, level = np.polyfit(sizes - sizes.mean(), films, 1)
    return sizes.mean(), level, slope


def piece_of(size_in):
    return surfaces.rectangle(*(IN_MM * length for length in size_in))


SMALL = [piece_of(size) for size in SIZES_IN]
LARGE = [piece_of(size) for size in LARGE_IN]


class Studio:
    """One studio of a world, by its seed."""

    def __init__(self, world, seed):
        self.world, self.draw = world, np.random.default_rng([seed, WORLDS.index(world)])
        draw = self.draw
        self.hand = exp(draw.normal(0, 0.25)) if world.hand is None else world.hand
        kinds = draw.choice(len(KINDS), draw.integers(1, 4), replace=False)
        self.kinds = [KINDS[kind] for kind in kinds]
        sizes = [piece for piece in SMALL if not world.deep or piece.depth_mm > 30] or SMALL
        several = min(draw.integers(*world.sizes), len(sizes))
        self.pieces = [sizes[at] for at in draw.choice(len(sizes), several, replace=False)]
        self.sides = draw.uniform(1 - world.sides, 1 + world.sides)
        away = draw.normal(0, world.away)
        self.films = {}
        for kind in self.kinds:
            curve, bent = str(draw.choice(world.curves)), draw.normal(0, 0.2)
            offset = draw.normal(0, world.offset)
            for layer in coverage.LAYERS_OF[kind[0]]:
                self.films[kind, layer] = (
                    curve,
                    bent + draw.normal(0, 0.15),
                    bent + draw.normal(0, 0.3),
                    draw.uniform(0.5, 1.5),
                    away + offset + draw.normal(0, 0.1),
                )
        self.own = []

    def typical_ml(self, kind, layer, piece):
        """Half of this studio's pours of one such piece take less, before any drift."""
        middle, level, slope = practice(*kind, layer)
        curve, bend, other_bend, reach, offset = self.films[kind, layer]
        away = log(piece.radius_mm) - middle
        if curve == "power":
            growth = (slope + bend) * away
        elif curve == "plateau":
            growth = (slope + bend) * reach * np.tanh(away / reach)
        else:
            growth = (slope + (bend if away < 0 else other_bend)) * away
        film_mm = self.hand * exp(level + offset + np.clip(growth, -1.5, 1.5))
        return film_mm * (piece.top_area_mm2 + self.sides * piece.side_area_mm2) / 1000

    def luck(self, size=None):
        return self.draw.standard_t(6, size) * sqrt(4 / 6)

    def pour(self, kind, piece, count, number):
        """Return what one session takes by layer, over all its pieces, [mL]."""
        world = self.world
        share, rest = sqrt(world.alike), sqrt(1 - world.alike)
        session, pieces = self.luck(), self.luck(count)
        drift = world.drift ** (number / 100)
        poured = {}
        for layer in coverage.LAYERS_OF[kind[0]]:
            luck = share * session + rest * self.luck()
            each = share * pieces + rest * self.luck(count)
            volumes = np.exp(world.noise * sqrt(0.5) * (luck + each))
            poured[layer] = drift * self.typical_ml(kind, layer, piece) * volumes.sum()
        return poured

    def session(self):
        """Return a kind, piece and count as this studio pours them."""
        kind = self.kinds[self.draw.integers(len(self.kinds))]
        piece = self.pieces[self.draw.integers(len(self.pieces))]
        return kind, piece, int(self.draw.choice([1, 2, 4])) if piece.radius_mm < 100 else 1

    def log_until(self, after):
        """Pour and log until there are so many pours."""
        number = len({one.key for one in self.own})
        for key in range(number, after):
            kind, piece, count = self.session()
            for layer, ml in self.pour(kind, piece, count, key).items():
                if self.draw.random() < self.world.spilled:
                    ml *= self.draw.uniform(1.5, 4)
                self.own.append(
                    coverage.Observation(
                        kind[0],
                        layer,
                        piece.wetted_area_mm2,
                        ml / count,
                        count=count,
                        key=key,
                        side_share=piece.side_area_mm2 / piece.wetted_area_mm2,
                        base=kind[1],
                    )
                )


def line_of(kind, piece, count):
    share = piece.side_area_mm2 / piece.wetted_area_mm2
    return coverage.Line(kind[0], piece.wetted_area_mm2, count, share, kind[1])


def crps(median, scale, freedom, actual):
    """Return the score of Student's t for ln(volume), its units those of ln.

    A. Jordan, F. Krüger and S. Lerch, "Evaluating probabilistic forecasts with scoringRules",
    J. Stat. Softw. 90 (2019), appendix A.
    """
    z = (actual - median) / scale
    if freedom > 1e4:
        return scale * (z * (2 * stats.norm.cdf(z) - 1) + 2 * stats.norm.pdf(z) - 1 / sqrt(pi))
    tails = beta(0.5, freedom - 0.5) / beta(freedom / 2, 0.5) ** 2
    density = stats.t.pdf(z, freedom) * (freedom + z * z) / (freedom - 1)
    score = z * (2 * stats.t.cdf(z, freedom) - 1) + 2 * density
    return scale * (score - 2 * sqrt(freedom) / (freedom - 1) * tails)


class LogLinear:
    """ln(volume) over ln(area), a line for each technique and layer, by least squares."""

    def __init__(self, own):
        self.seen = {}
        for one in own:
            self.seen.setdefault((one.technique, one.layer), []).append(
                (2 * one.size, log(one.volume_ml))
            )

    def ask(self, technique, layer, area_mm2, count, *, slope=True):
        """Return ln(median), scale and degrees of freedom; without a slope by the mean film."""
        seen = self.seen.get((technique, layer))
        if not seen:
            return None
        sizes, volumes = np.array(seen).T
        at = log(area_mm2 / pi)
        n, spread = len(seen), np.ptp(sizes)
        sloped = slope and n >= 3 and spread > 0.1
        films = volumes - sizes
        if not sloped:
            median = films.mean() + at + log(count)
            if n < 2:
                return median, None, 1.0
            sd = max(films.std(ddof=1), 0.01) * sqrt(1 + 1 / n)
            return median, sd, float(n - 1)
        middle = sizes.mean()
        power, level = np.polyfit(sizes - middle, volumes, 1)
        left = volumes - level - power * (sizes - middle)
        sd = max(sqrt((left @ left) / (n - 2)), 0.01)
        lever = 1 + 1 / n + (at - middle) ** 2 / ((sizes - middle) ** 2).sum()
        return level + power * (at - middle) + log(count), sd * sqrt(lever), float(n - 2)


def told(world):
    """The model's settings with the world's true noise."""
    each = world.noise * sqrt(0.5)
    return coverage.Settings(session_sd=each, piece_sd=each, alike=world.alike)


def by_linear(linear, own, line, layer, rule):
    """Return a plain rule's ln(median), scale or None, and degrees of freedom; or None."""
    if rule == "area":
        try:
            ml = coverage.area_scaling(own, line.technique, layer, line.wetted_area_mm2)
        except coverage.CoverageError:
            return None
        return log(line.count * ml), None, inf
    sloped = rule == "log-linear"
    return linear.ask(line.technique, layer, line.wetted_area_mm2, line.count, slope=sloped)


class Process:
    """scikit-learn's process over ln(size), one for each technique and layer, on own pours only."""

    def __init__(self, own):
        self.seen, self.fitted = LogLinear(own).seen, {}

    def ask(self, technique, layer, area_mm2, count):
        seen = self.seen.get((technique, layer), [])
        if len(seen) < 3:
            return None
        sizes, volumes = np.array(seen).T
        if (technique, layer) not in self.fitted:
            kernel = ConstantKernel(0.2) * RBF(1.5) + WhiteKernel(0.02)
            process = GaussianProcessRegressor(kernel, normalize_y=False, random_state=0)
            middle = (volumes - sizes).mean()
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # lengths at their bounds
                process.fit(sizes[:, None] / 2, volumes - sizes - middle)
            self.fitted[technique, layer] = process, middle
        process, middle = self.fitted[technique, layer]
        at = log(area_mm2 / pi)
        mean, sd = process.predict([[at / 2]], return_std=True)
        return middle + at + mean[0] + log(count), sd[0], inf


PLAIN = ("log-linear", "mean", "area", "process")
ROW = [
    ("world", "U20"), ("seed", int), ("rule", "U10"), ("what", "U10"), ("after", int),
    ("place", int),
    ("inside", float), ("error", float), ("score", float),
]  # fmt: skip  # a table of columns


def one_studio(world, seed, after=AFTER, rules=("model", "told", *PLAIN)):
    """Return rows (see `ROW`) of one studio: a rule's forecasts, and whether cups sufficed."""
    studio, rows = Studio(world, seed), []

    def add(rule, what, place, median, scale, freedom, actual):
        actual = log(actual)
        inside = abs(actual - median) < stats.t.ppf(0.9, freedom) * scale if scale else np.nan
        scored = crps(median, scale, freedom, actual) if scale and freedom > 1 else np.nan
        error = abs(exp(median - actual) - 1)
        rows.append((world.name, seed, rule, what, number, place, inside, error, scored))

    for number in after:
        studio.log_until(number)
        asked = list(_questions(studio))
        poured = [
            [studio.pour(*one, number + place) for place, one in enumerate(lines)]
            for _, lines in asked
        ]
        for rule in rules:
            answer = _answers(rule, world, studio.own)
            for place, ((what, lines), took) in enumerate(zip(asked, poured, strict=True)):
                layers, total, enough = answer([line_of(*one) for one in lines])
                if what in ("layer", "large"):
                    for at, (layer, ml) in enumerate(took[0].items()):
                        if layers[0, layer]:
                            add(rule, what, 10 * place + at, *layers[0, layer], ml)
                if what != "large" and total:
                    ml = sum(sum(one.values()) for one in took)
                    add(rule, "pour" if what == "layer" else what, place, *total, ml)
                if enough and what in ("layer", "job"):
                    held = all(
                        ml <= enough[line, layer][0]
                        for line, one in enumerate(took)
                        for layer, ml in one.items()
                    )
                    cups = "enough" if what == "layer" else "enough job"
                    rows.append((world.name, seed, rule, cups, number, place, held, np.nan, np.nan))
                    for measures in ("us", "metric"):
                        held, over = _measured(enough, took, measures)
                        cups = f"{measures} job" if what == "job" else measures
                        told = (world.name, seed, rule, cups, number, place, held, over, np.nan)
                        rows.append(told)
    return rows


def _measured(enough, took, measures):
    """Tell whether what is measured out held, and how much more than enough it is, on average."""
    mixed = {
        at: float(round_up_to_measure(most, measures, least)[0])
        for at, (most, least) in enough.items()
    }
    held = all(ml <= mixed[line, layer] for line, of in enumerate(took) for layer, ml in of.items())
    return held, sum(mixed.values()) / sum(most for most, _ in enough.values()) - 1


def _questions(studio):
    """Yield what is asked and its lines: kinds, pieces and counts."""
    for what, several in (("layer", 3), ("large", 2), ("eight", 1)):
        for _ in range(several):
            kind, piece, count = studio.session()
            if what == "large":
                piece, count = LARGE[studio.draw.integers(len(LARGE))], 1
            yield what, [(kind, piece, 8 if what == "eight" else count)]
    yield "job", [studio.session() for _ in range(3)]


def _answers(rule, world, own):
    """Return a function of lines to a rule's layers, their total, and what is enough."""
    if rule in ("model", "told"):
        model = coverage.Estimator([*COMMON, *own], told(world) if rule == "told" else None)

        def of_model(lines):
            job = model.job(lines)
            forecasts = {
                (line, layer): one
                for line in range(len(lines))
                for layer, one in job.forecasts(line).items()
            }
            part = job.total().parts[0]
            return (
                {at: _of(one.parts[0], one.freedom) for at, one in forecasts.items()},
                _of(part, job.freedom),
                dict(zip(forecasts, job.ready(), strict=True)),
            )

        return of_model
    linear, process = LogLinear(own), Process(own) if rule == "process" else None

    def of_rule(lines):
        layers = {
            (at, layer): process.ask(line.technique, layer, line.wetted_area_mm2, line.count)
            if process
            else by_linear(linear, own, line, layer, rule)
            for at, line in enumerate(lines)
            for layer in coverage.LAYERS_OF[line.technique]
        }
        if not all(layers.values()):
            return layers, None, None
        volumes = np.exp([median for median, _, _ in layers.values()])
        scales = [scale for _, scale, _ in layers.values()]
        sd = sqrt((volumes**2 * np.array(scales) ** 2).sum()) if all(scales) else None
        freedom = min(freedom for _, _, freedom in layers.values())
        return layers, (log(volumes.sum()), sd and sd / volumes.sum(), freedom), None

    return of_rule


def _of(part, freedom):
    return part.ln_median, part.ln_scale, freedom


def simulate(seeds, worlds=WORLDS, after=AFTER, rules=("model", "told", *PLAIN)):
    """Return the rows of studios of all worlds as one table."""
    with threadpool_limits(1):
        rows = [
            row
            for world in worlds
            for seed in seeds
            for row in one_studio(world, seed, after, rules)
        ]
    return np.array(rows, dtype=ROW)


def share(rows, of="inside"):
    """Return the mean of a column and its standard error, studios being what is drawn."""
    values = rows[~np.isnan(rows[of])]
    if not values.size:
        return np.nan, np.nan
    _, studio = np.unique(values[["world", "seed"]], return_inverse=True)
    counts = np.bincount(studio)
    mean = values[of].mean()
    off = np.bincount(studio, values[of] - mean)
    return mean, sqrt((off**2).sum()) / counts.sum()


def where(rows, **columns):
    """Return the rows whose columns are such."""
    for name, value in columns.items():
        rows = rows[rows[name] == value]
    return rows


def in_words(rows):
    """Yield the lines of the whole table: inside (with its standard error) / error / score."""
    rules = list(dict.fromkeys(rows["rule"]))
    yield f"{'what':8}{'pours':>6}  " + "".join(f"{rule:>29}" for rule in rules)
    for what in ("layer", "large", "pour", "eight", "job"):
        for number in np.unique(rows["after"]):
            cells = (where(rows, what=what, after=number, rule=rule) for rule in rules)
            yield f"{what:8}{number:6}  " + "".join(f"{_cell(cell):>29}" for cell in cells)
    yield "Enough to mix, at 90 %"
    for what in ("enough", "enough job"):
        for number in np.unique(rows["after"]):
            mean, error = share(where(rows, what=what, after=number, rule="model"))
            yield f"{what:10}{number:6}  {mean:.3f} ± {error:.3f}"
    yield "The same, measured out: how often it is enough, and how much more than enough it is"
    for what in ("us", "metric", "us job", "metric job"):
        for number in np.unique(rows["after"]):
            cell = where(rows, what=what, after=number, rule="model")
            (mean, error), (over, _) = share(cell), share(cell, "error")
            yield f"{what:10}{number:6}  {mean:.3f} ± {error:.3f}  {over:+.3f}"
    yield "Inside from the third pour on, by world: the model / told the true noise"
    late = rows[rows["after"] >= 3]
    for world in dict.fromkeys(rows["world"]):
        cells = [
            " / ".join(
                "{:.2f} ± {:.2f}".format(*share(where(late, world=world, what=what, rule=rule)))
                for rule in ("model", "told")
            )
            for what in ("layer", "large", "pour", "eight", "job")
        ]
        yield f"{world:18}" + "  ".join(f"{cell:28}" for cell in cells)


def _cell(rows):
    inside, off = share(rows)
    error = np.median(rows["error"]) if rows.size else np.nan
    return f"{inside:.2f} ± {off:.2f} / {error:.2f} / {share(rows, 'score')[0]:.3f}"
