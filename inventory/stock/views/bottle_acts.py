"""What is done with a bottle at the bench: weighed, counted, used, thrown away, sent back, poured
over."""

from decimal import Decimal
from typing import Any

from django.http import HttpResponse

from inventory.models import Bottle, Entry, Material, Movement
from inventory.stock import ledger as stock
from inventory.stock.forms.bottles import DecantForm, RecountForm, TakeForm, WeighInForm
from inventory.stock.views.bottles import bottle_of, page_of_bottle
from inventory.supplies.hazards import hazards_of, waste_hazards_of
from inventory.words import about
from studio.access import member_page
from studio.money import ZERO
from studio.requests import StudioRequest
from studio.units.numerals import trimmed
from studio.views.form_page import form_page


def _outcome(bottle: Bottle, entry: Entry | None) -> tuple[str, str]:
    """Return what a bottle holds after it was weighed or counted, in words, and where to go on."""
    if entry is None:
        return f"{bottle.code} holds what the books say. Nothing had to change.", page_of_bottle(
            bottle
        )
    bottle.refresh_from_db(fields=["remaining"])
    left = about(bottle.material, bottle.remaining) if bottle.remaining else "nothing"
    return f"{bottle.code} now holds {left}.", page_of_bottle(bottle)


@member_page("maker")
def weigh_in(request: StudioRequest, code: str) -> HttpResponse:
    """Set what is left by weight."""
    bottle = bottle_of(request, code)
    unknown = missing_to_weigh(bottle)
    return form_page(
        request,
        WeighInForm(request.POST or None),
        template="inventory/stock/weigh.html",
        title=f"Weigh {bottle.named}",
        lead="" if unknown else _how_to_weigh(bottle),
        unknown=unknown,
        bottle=bottle,
        act=lambda data: stock.weigh_in(
            studio=request.studio, by=request.user, bottle=bottle, gross_g=data["gross_g"]
        ),
        done=lambda entry: _outcome(bottle, entry),
        button="Set by weight",
        back=page_of_bottle(bottle),
        back_label=bottle.code,
    )


def _how_to_weigh(bottle: Bottle) -> str:
    empty = trimmed(bottle.tare or ZERO)
    text = f"Put the whole bottle on the scale, lid on. Empty it weighs {empty} g"
    if bottle.material.unit == Material.Unit.G:
        return f"{text}."
    return f"{text}, and 1 mL of what is in it {trimmed(bottle.density or ZERO)} g."


def missing_to_weigh(bottle: Bottle) -> str:
    """Say what must be known before weighing can tell what is left; empty when all is known."""
    if bottle.material.unit == Material.Unit.EACH:
        return f"{bottle.material} is counted in whole items, so a scale can't tell what is left."
    missing = []
    if bottle.tare is None:
        missing.append("what the empty bottle weighs")
    if bottle.material.unit == Material.Unit.ML and not bottle.density:
        missing.append("what 1 mL of it weighs (its density)")
    return f"Not known yet: {' and '.join(missing)}." if missing else ""


@member_page("maker")
def recount(request: StudioRequest, code: str) -> HttpResponse:
    """Set what is left by count or measure."""
    bottle = bottle_of(request, code)
    verb = "Count" if bottle.material.unit == Material.Unit.EACH else "Measure"
    return form_page(
        request,
        RecountForm(request.POST or None, studio=request.studio, bottle=bottle),
        title=f"{verb} {bottle.named}",
        lead=f"The books say {about(bottle.material, bottle.remaining)}.",
        act=lambda data: stock.recount(
            studio=request.studio, by=request.user, bottle=bottle, quantity=data["quantity"]
        ),
        done=lambda entry: _outcome(bottle, entry),
        button="Set what is left",
        back=page_of_bottle(bottle),
        back_label=bottle.code,
    )


def _use(*, bottle: Bottle, quantity: Decimal, **fields: Any) -> Entry:
    return stock.use(
        amounts={bottle.material: quantity},
        bottles={bottle.material: [bottle]},
        purpose="Taken by hand",
        **fields,
    )


TAKES = {  # service, title, button, what happened
    "use": (_use, "Use from", "Take out", "used"),
    "waste": (stock.waste, "Throw away from", "Throw away", "thrown away"),
    "send-back": (stock.send_back, "Send back from", "Send back", "sent back"),
}


@member_page("maker")
def take(request: StudioRequest, code: str, how: str) -> HttpResponse:
    """Take some out of a bottle: used, thrown away or sent back."""
    bottle = bottle_of(request, code)
    service, verb, button, past = TAKES[how]

    def act(data: dict[str, Any]) -> str:
        service(studio=request.studio, by=request.user, bottle=bottle, **data)
        return about(bottle.material, data["quantity"])

    return form_page(
        request,
        TakeForm(request.POST or None, studio=request.studio, bottle=bottle),
        title=f"{verb} {bottle.named}",
        lead=f"It holds {about(bottle.material, bottle.remaining)}.",
        hazards=_hazards(bottle.material, how),
        act=act,
        done=lambda amount_taken: (
            f"{amount_taken} of {bottle.code} {past}.",
            page_of_bottle(bottle),
        ),
        button=button,
        back=page_of_bottle(bottle),
        back_label=bottle.code,
    )


def _hazards(material: Material, how: str) -> tuple[str, ...]:
    return waste_hazards_of(material) if how == "waste" else hazards_of([material])


@member_page("maker")
def decant(request: StudioRequest, code: str) -> HttpResponse:
    """Pour a bottle into another of the same material, or into a new one."""
    bottle = bottle_of(request, code)
    form = DecantForm(request.POST or None, studio=request.studio, bottle=bottle)

    def act(data: dict[str, Any]) -> Entry:
        return stock.decant(
            studio=request.studio,
            by=request.user,
            bottle=bottle,
            into=form.vessel(),
            quantity=data["quantity"],
            over_capacity=data["over_capacity"],
            why=data["why"],
        )

    return form_page(
        request,
        form,
        template="inventory/stock/decant.html",
        title=f"Decant {bottle.named}",
        lead=f"It holds {about(bottle.material, bottle.remaining)}. What is poured together keeps "
        "until the sooner of the two days.",
        hazards=hazards_of([bottle.material]),
        bottle=bottle,
        act=act,
        done=lambda entry: _pouring_outcome(bottle, entry),
        button="Decant",
        back=page_of_bottle(bottle),
        back_label=bottle.code,
    )


def _pouring_outcome(bottle: Bottle, entry: Entry) -> tuple[str, str]:
    """Return what was poured where, in words, and the page of the bottle that holds it now."""
    target_movement = entry.movements.select_related("bottle__material").get(
        kind=Movement.Kind.DECANT, quantity__gt=0
    )
    into = target_movement.bottle
    held = about(into.material, into.remaining)
    poured = about(into.material, target_movement.quantity)
    return (
        f"{poured} of {bottle.code} is in {into.code} now, which holds {held}.",
        page_of_bottle(into),
    )
