"""How a pour was moved: noted, corrected, or confirmed to be as on an earlier pour like it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from django.db import transaction
from django.db.models import Q

from inventory.models import Material
from inventory.supplies.hazards import hazards_of
from inventory.words import listed
from pricing.bench.frozen_pours import PouredMix, materials_in, poured_mixes
from pricing.errors import PourRefused
from pricing.models import Pour, PourLayer
from pricing.models.moved import MOST_REST, Moved
from studio.units.numerals import trimmed

Move, Heat = Moved.Move, Moved.Heat
NOTHING = Q(moves="", heat="", rest_minutes=None, was_covered=None)
# What two pours have in common that are compared, tested as a pair, or moved as the one before.
ALIKE = ("technique_id", "palette_id", "surface_id", "base")
TENTH, MOST_TRACE = Decimal("0.1"), Decimal("9999.9")
# A mix of a pour: its layer, and its place among the mixes of that layer, counted from 0.
Place = tuple[str, int]


@dataclass(frozen=True)
class Noted:
    """What somebody says of how a pour was moved; what is left out is not known.

    ``moves`` are codes of `Moved.Move`, (“none”,) of a pour that was not moved, () where it is not
    known. ``heat`` is one of `Moved.Heat` or empty, ``rest_minutes`` are [min], ``traces`` [s] by
    mix: those that are not named stay as they are, and None takes one back.
    """

    moves: tuple[str, ...] = ()
    heat: str = ""
    rest_minutes: Decimal | None = None
    was_covered: bool | None = None
    traces: Mapping[Place, Decimal | None] = field(default_factory=dict)


@dataclass(frozen=True)
class LastTime:
    """The last pour like another of which is known how it was moved, and that in words."""

    pour: Pour
    noted: Noted
    facts: tuple[tuple[str, str], ...]


@transaction.atomic
def note_moves(*, pour: Pour, noted: Noted) -> Pour:
    """Keep how a pour was moved, in place of what was noted before.

    Raises `PourRefused` for what cannot be, and of a pour that was undone; then nothing is kept.
    """
    pour = Pour.objects.select_for_update(of=("self",)).get(pk=pour.pk)
    if not Pour.objects.standing().filter(pk=pour.pk).exists():
        raise PourRefused(f"{pour} was undone, so there is nothing to note.")
    _check(noted)
    pour.moves = " ".join(move for move in Move.values if move in noted.moves)
    pour.heat, pour.was_covered = noted.heat, noted.was_covered
    pour.rest_minutes = noted.rest_minutes
    pour.save(update_fields=["moves", "heat", "was_covered", "rest_minutes"])
    _keep_traces(pour, noted.traces)
    return pour


def as_before(*, pour: Pour, like: Pour | None) -> Pour:
    """Keep that a pour was moved as an earlier one like it, the traces of its mixes too.

    Raises `PourRefused` where no other is named, the two are not alike, or nothing is known of the
    earlier one.
    """
    if like is None:
        raise PourRefused("Say which earlier pour it was moved like.")
    if any(getattr(pour, name) != getattr(like, name) for name in ALIKE) or pour.pk == like.pk:
        raise PourRefused(f"{like} is not like {pour}: choose one of its technique, palette, size.")
    if not like.is_noted:
        raise PourRefused(f"Nothing is noted of how {like} was moved. Say it of {pour} itself.")
    return note_moves(pour=pour, noted=_as_on(like, pour))


def last_time(pour: Pour) -> LastTime | None:
    """Return the last standing pour like this one of which it is known; None without one."""
    rows = Pour.objects.standing().filter(
        studio=pour.studio_id, **{name: getattr(pour, name) for name in ALIKE}
    )
    earlier = Q(poured_at__lt=pour.poured_at) | Q(poured_at=pour.poured_at, pk__lt=pour.pk)
    like = rows.filter(earlier).exclude(NOTHING).order_by("-poured_at", "-pk").first()
    if like is None:
        return None
    noted = _as_on(like, pour)
    names = mix_names(pour)
    known = [(names[place], one) for place, one in noted.traces.items() if one is not None]
    traces = [(f"Trace of {name}", f"{trimmed(one)} s") for name, one in known]
    return LastTime(like, noted, (*like.moved_facts, *traces))


def noted_of(pour: Pour) -> Noted:
    """Return what is known of how a pour was moved, the trace of each of its mixes too."""
    traces = {place: mix.trace_seconds for place, mix in mixes_of(pour).items()}
    return Noted(pour.move_codes, pour.heat, pour.rest_minutes, pour.was_covered, traces)


def mixes_of(pour: Pour) -> dict[Place, PouredMix]:
    """Return the mixes that a pour was poured of, by their places; run-off is none."""
    return {
        (layer.layer, at): mix
        for layer in pour.layers.all()
        for at, mix in enumerate(poured_mixes(layer))
        if mix.mix is not None
    }


def mix_names(pour: Pour) -> dict[Place, str]:
    """Return what each mix of a pour is called, with its bottle where it came out of one."""
    return {
        place: f"{one.mix.name} ({one.bottle})" if one.bottle else one.mix.name
        for place, one in mixes_of(pour).items()
        if one.mix
    }


def heat_hazards(pour: Pour) -> tuple[str, ...]:
    """Return the acts to be minded where a pour has something in its mixes that burns.

    Where heat was not noted it may have been used, so they are told then too.
    """
    if pour.heat == Heat.NONE:
        return ()
    named = {key for layer in pour.layers.all() for key in materials_in(layer)}
    burns = "solvent" in hazards_of(Material.objects.filter(pk__in=named))
    return ("solvent", "flame") if burns else ()


def _as_on(like: Pour, pour: Pour) -> Noted:
    """Return what is known of an earlier pour, for one whose mixes have no trace of their own."""
    known = {
        mix.mix.recipe_id: mix.trace_seconds
        for mix in mixes_of(like).values()
        if mix.mix and mix.mix.recipe_id and mix.trace_seconds
    }
    traces = {
        place: known[mix.mix.recipe_id]
        for place, mix in mixes_of(pour).items()
        if mix.mix and mix.mix.recipe_id in known and mix.trace_seconds is None
    }
    return Noted(like.move_codes, like.heat, like.rest_minutes, like.was_covered, traces)


def _check(noted: Noted) -> None:
    unknown = [code for code in noted.moves if code not in Move.values]
    if unknown:
        raise PourRefused(f"There is no way of moving called {listed(unknown)}. Say it in a note.")
    if Move.NONE in noted.moves and len(set(noted.moves)) > 1:
        raise PourRefused("Choose “Not moved”, or how it was moved, not both.")
    if noted.heat and noted.heat not in Heat.values:
        raise PourRefused("Heat is a torch, a heat gun, or none. Leave out what you do not know.")
    rest = noted.rest_minutes
    if rest is not None and (not 0 <= rest <= MOST_REST or rest % TENTH):
        raise PourRefused(f"Rest is from 0 to {MOST_REST} minutes, to a tenth.")
    traces = [one for one in noted.traces.values() if one is not None]
    if any(not 0 < one <= MOST_TRACE or one % TENTH for one in traces):
        raise PourRefused("A trace lasts 0.1 seconds or more. Leave out what you did not measure.")


def _keep_traces(pour: Pour, traces: Mapping[Place, Decimal | None]) -> None:
    unknown = traces.keys() - mixes_of(pour).keys()
    if unknown:
        name, place = sorted(unknown)[0]
        raise PourRefused(f"{pour} has no mix number {place + 1} of the {name}.")
    for row in PourLayer.objects.filter(pour=pour):
        told = {at: one for (layer, at), one in traces.items() if layer == row.layer}
        for at, one in told.items():
            row.mixes[at]["trace_seconds"] = None if one is None else f"{one:f}"
        if told:
            row.save(update_fields=["mixes"])
