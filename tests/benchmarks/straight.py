"""The estimator's posterior computed straight: every term written out in numpy, one dense Cholesky.

It looks at all pours at once, however many there are, each with the settings and the doubt that it
is believed with.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from pricing.estimating import coverage

LAYER = {one: number for number, one in enumerate(coverage.LAYERS)}


@dataclass
class Trust:
    """What values are believed with: settings one by one, what is raised, and chances of slips."""

    settings: list[coverage.Settings]
    raised: np.ndarray
    chances: np.ndarray


def trust(settings, raised, chances):
    """Return the `Trust` of values that are all believed with the same settings."""
    return Trust([settings] * len(raised), np.array(raised), np.array(chances))


def straight(observations, own, line):
    """Return mean and covariance of ln(thickness) of a line's layers, and the scale's parts.

    ``own`` is the `Trust` of all observations; what is asked has the settings of the last.
    """
    return _straight(observations, own, [line])[:2]


def straight_job(observations, own, lines, like):
    """Return a job like another, its numbers by the textbook."""
    mean, covariance, distance = _straight(observations, own, lines)
    counted = np.array([one.own for one in observations])
    freedom = 12 + (1 - own.chances[counted]).sum()
    asked = _asked(lines)
    volume = [
        np.log(one.wetted_area_mm2 * one.count / 1000) - 0.25 * one.side_share for one in asked
    ]
    return replace(
        like,
        means=mean + volume,
        covariance=covariance * (12 + distance) / freedom,
        freedom=freedom,
    )


def _asked(lines):
    return [
        coverage.Observation(
            line.technique,
            layer,
            line.wetted_area_mm2,
            1.0,
            count=line.count,
            key=f"next {number}",
            side_share=line.side_share,
            base=line.base,
        )
        for number, line in enumerate(lines)
        for layer in coverage.LAYERS_OF[line.technique]
    ]


def _straight(observations, trusted, lines):
    s = trusted.settings[-1]
    asked = _asked(lines)
    of = [*observations, *asked]
    each = [*trusted.settings, *[s] * len(asked)]
    fade, session, piece, luck = (
        np.array([getattr(one, name) for one in each])
        for name in ("fade_sd", "session_sd", "piece_sd", "alike")
    )
    x = np.array([one.size for one in of])
    t = np.array([hash((one.technique, one.base)) for one in of])
    layer = np.array([LAYER[one.layer] for one in of])
    own = np.array([one.own for one in of])
    count = np.array([one.count for one in of])
    sides = np.array([one.side_share for one in of])
    keys = {
        key: number for number, key in enumerate(dict.fromkeys(one.key for one in of if one.own))
    }
    pour = np.array([keys.get(one.key, -1) for one in of])
    rule = np.array([hash((one.technique, one.base, one.layer, one.rule)) for one in of])
    films = np.log([one.volume_ml * 1000 / one.wetted_area_mm2 for one in observations])
    y = films + 0.25 * sides[: len(films)]
    common = ~own[: len(y)]
    level = np.array([y[common & (layer[: len(y)] == at)].mean() for at in range(3)])

    def block(a, b):
        same, kin = layer[a, None] == layer[b], t[a, None] == t[b]
        both = own[a, None] & own[b]
        total = np.exp(-0.5 * ((x[a, None] - x[b]) / s.length) ** 2) * (0.7 + 0.3 * same)
        total *= s.shared_sd**2 + kin * (s.curve_sd**2 + both * s.own_sd**2)
        leaning = np.minimum(np.maximum(x - 4.6, -2.5), 2.5)
        leans = np.outer(leaning[a], leaning[b]) * (0.7 + 0.3 * same)
        total += kin * s.lean_sd**2 * leans
        total += (kin & same) * s.level_sd**2 + s.side_sd**2 * np.outer(sides[a], sides[b])
        fading = np.outer(fade[a], fade[b]) * np.exp(-np.abs(pour[a, None] - pour[b]) / s.memory)
        total += both * (0.8 + 0.2 * same) * (s.hand_sd**2 + fading)
        total += both * kin * (0.3 + 0.7 * same) * s.knack_sd**2
        noise = (session[a] ** 2 + piece[a] ** 2 / count[a])[:, None]
        together = luck[a, None] + (1 - luck[a, None]) * same
        total += (both & (pour[a, None] == pour[b])) * noise * together
        total += ~(own[a, None] | own[b]) * (rule[a, None] == rule[b]) * s.rule_sd**2
        return total

    seen, new = np.arange(len(y)), np.arange(len(y), len(of))
    matrix = block(seen, seen)
    matrix[np.diag_indices_from(matrix)] += trusted.raised
    matrix[np.diag_indices_from(matrix)] += [(one.noise or 0.0) ** 2 for one in observations]
    values = y - level[layer[: len(y)]]
    here = np.flatnonzero(common)
    alone = values[here] @ np.linalg.solve(matrix[np.ix_(here, here)], values[here])
    factor = cho_factor(matrix, lower=True, overwrite_a=True, check_finite=False)
    near = block(new, seen)
    solved = cho_solve(factor, values, check_finite=False)
    mean = level[layer[new]] + near @ solved
    covariance = block(new, new) - near @ cho_solve(factor, near.T, check_finite=False)
    return mean, covariance, values @ solved - alone
