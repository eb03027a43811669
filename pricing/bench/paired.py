"""Paired tests: drawn by lot, poured, rated without knowing which, revealed; and what they say."""

import secrets
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.stock.shelf import local_day
from pricing.bench.differences import Score, evidence, is_told, needed, odds
from pricing.bench.moving import ALIKE
from pricing.errors import PairRefused
from pricing.estimating.bases import base_problem
from pricing.models import FinishedPiece, PairedTest, Palette, Pour, SavedSurface, Technique
from pricing.models.judgement import LEAST, MOST
from studio.models import Studio
from studio.numbering import next_number
from studio.rows import refuse_strangers

# So many pairs are looked ahead, to say how many more in a row would be told.
AHEAD = 99


@dataclass(frozen=True)
class Series:
    """All pairs of one change in one technique, palette and size, as they were revealed.

    ``place`` is which change of its year it is, in the order in which they were first drawn.
    """

    last: PairedTest
    score: Score
    place: int
    is_told: bool
    to_come: int

    @property
    def one_in(self) -> int | None:
        """If nothing were in it, one in so many such tests would come out so well or better."""
        if not self.score.decided:
            return None
        chance = odds(self.score.better, self.score.decided)
        return int(1 / chance)

    @property
    def in_a_row(self) -> int | None:
        """How many more that are better, without one that is worse, until it would be told."""
        line, score = needed(self.place), self.score
        steps = range(1, AHEAD)
        return next(
            (more for more in steps if evidence(score.better + more, score.worse) >= line), None
        )


@transaction.atomic
def draw_test(
    *,
    studio: Studio,
    by: User | None,
    changes: Sequence[str],
    surface: SavedSurface,
    technique: Technique,
    palette: Palette,
    base: str = "",
) -> PairedTest:
    """Begin a pair: the one change that one of two tiles gets, and by lot which of them.

    ``changes`` are codes of `PairedTest.Change`, one. Raises `PairRefused` for none or more.
    """
    refuse_strangers(studio, surface, technique, palette)
    if len(set(changes)) != 1:
        raise PairRefused(
            "Name one change. With two at once nobody can say which of them it was: test them one "
            "after the other."
        )
    change = changes[0]
    if change not in PairedTest.Change.values:
        raise PairRefused(f"There is no change called {change}. Choose one that is offered.")
    if problem := base_problem(technique, base):
        raise PairRefused(problem)
    return PairedTest.objects.create(
        studio=studio,
        number=next_number(studio, "paired test"),
        change=change,
        technique=technique,
        base=base,
        palette=palette,
        surface=surface,
        changed_tile=secrets.choice((1, 2)),
        drawn_at=timezone.now(),
        by=by,
    )


@transaction.atomic
def pour_test(*, test: PairedTest, pour: Pour, first: int, second: int) -> PairedTest:
    """Say which pieces of a logged pour, by number, are tile 1 and tile 2 of a pair.

    Raises `PairRefused` where the pour is not of its kind or older than the lot, and for pieces
    that were judged or are in another pair; then nothing is kept.
    """
    test = _locked(test)
    if test.is_poured:
        raise PairRefused(f"{test} is poured already.")
    if not Pour.objects.standing().filter(pk=pour.pk).exists():
        raise PairRefused(f"{pour} was undone. Choose the pour that stands.")
    if any(getattr(test, name) != getattr(pour, name) for name in ALIKE):
        raise PairRefused(f"{pour} is of another technique, palette or size than {test}.")
    if pour.poured_at < test.drawn_at:
        raise PairRefused(
            f"{pour} was poured before the lot was drawn. Draw a new pair before you pour."
        )
    pieces = {one.number: one for one in pour.pieces.filter(number__in=(first, second))}
    if len(pieces) != 2:
        raise PairRefused(f"Name two different pieces of {pour}, 1 to {pour.count}.")
    if any(one.verdict for one in pieces.values()):
        raise PairRefused("Rate the pair before its pieces are judged, or draw a new pair.")
    if any(_in_a_pair(one) for one in pieces.values()):
        raise PairRefused("One of these pieces is in another pair already.")
    test.first, test.second = pieces[first], pieces[second]
    test.save(update_fields=["first", "second"])
    return test


@transaction.atomic
def rate_test(
    *,
    test: PairedTest,
    by: User | None,
    first: int | None = None,
    second: int | None = None,
    better: str = "",
) -> PairedTest:
    """Rate one tile of a pair or both, from 1 to 5; what is left out stays as it is.

    ``better`` says which of two with the same rating is better. Raises `PairRefused` before they
    are poured, and once it was revealed which had the change.
    """
    test = _locked(test)
    _refuse_unpoured(test)
    if test.revealed_at:
        raise PairRefused(f"{test} is revealed, so its ratings stay. Draw another pair.")
    if any(one is not None and not LEAST <= one <= MOST for one in (first, second)):
        raise PairRefused(f"Ratings go from {LEAST} to {MOST}.")
    if better and better not in PairedTest.Better.values:
        raise PairRefused("Tile 1 is better, tile 2 is, or they are alike.")
    test.first_rating = test.first_rating if first is None else first
    test.second_rating = test.second_rating if second is None else second
    is_even = test.is_rated and test.first_rating == test.second_rating
    if better and not is_even:
        raise PairRefused("Say which is better only of two tiles with the same rating.")
    test.better, test.rated_by = better, by
    test.save(update_fields=["first_rating", "second_rating", "better", "rated_by"])
    return test


@transaction.atomic
def reveal_test(*, test: PairedTest) -> PairedTest:
    """Reveal which tile had the change, once both are rated; from then on the pair counts."""
    test = _locked(test)
    _refuse_unpoured(test)
    if not test.is_rated:
        raise PairRefused(f"Rate both tiles of {test} first: whoever knows which is which is led.")
    test.revealed_at = test.revealed_at or timezone.now()
    test.save(update_fields=["revealed_at"])
    return test


@transaction.atomic
def remove_test(*, test: PairedTest) -> None:
    """Remove a pair that was drawn and not poured; one that was poured stays, however it ends."""
    test = _locked(test)
    if test.is_poured:
        raise PairRefused(f"{test} is poured, so it stays: leaving pairs out would bend the count.")
    test.delete()


def series_of(studio: Studio) -> tuple[Series, ...]:
    """Return what all pairs of a studio say, the change drawn last first; one query.

    Pairs of pours that were undone are left out.
    """
    rows = studio.paired_tests.select_related("technique", "palette", "surface")
    standing = rows.exclude(first__pour__entry__reversed_by__isnull=False).exclude(first=None)
    groups: defaultdict[tuple[object, ...], list[PairedTest]] = defaultdict(list)
    for test in standing.order_by("drawn_at", "pk"):
        groups[(test.change, *(getattr(test, name) for name in ALIKE))].append(test)
    places: defaultdict[int, int] = defaultdict(int)
    found = []
    for tests in groups.values():  # in the order in which they were first drawn
        year = local_day(studio, tests[0].drawn_at).year
        places[year] += 1
        found.append(_series(tests, places[year]))
    return tuple(reversed(found))


def _series(tests: Sequence[PairedTest], place: int) -> Series:
    revealed = [(one.revealed_at, one.pk, one.outcome) for one in tests if one.revealed_at]
    outcomes = [outcome or 0 for *_, outcome in sorted(revealed, key=lambda row: row[:2])]
    score = Score(outcomes.count(1), outcomes.count(-1), outcomes.count(0))
    return Series(
        last=tests[-1],
        score=score,
        place=place,
        is_told=is_told(outcomes, place),
        to_come=len(tests) - len(outcomes),
    )


def _locked(test: PairedTest) -> PairedTest:
    return PairedTest.objects.select_for_update().get(pk=test.pk)


def _refuse_unpoured(test: PairedTest) -> None:
    if not test.is_poured:
        raise PairRefused(f"{test} is not poured yet. Pour it, log the pour, and name its pieces.")


def _in_a_pair(piece: FinishedPiece) -> bool:
    rows = PairedTest.objects.filter(studio=piece.studio_id)
    return (rows.filter(first=piece) | rows.filter(second=piece)).exists()
