"""What is done with a bottle at the bench: weighed, counted, used, thrown away, sent back, poured
over."""

from decimal import Decimal
from typing import Any

from django.http import HttpResponse

from inventory.models import Bottle, Entry, Material, Movement
from inventory.stock import ledger as stock
from inventory.stock.forms.bottles import DecantForm, RecountForm, TakeForm, WeighInForm
from inventory.stock.views.bottles import bottle_of, page_of_bottle
from inventory.words import about
from studio.access import member_page
from studio.money import ZERO
from studio.requests import StudioRequest
from studio.units.numerals import trimmed
from studio.views.form_page import form_page

RESIN = {Material.Kind.RESIN, Material.Kind.HARDENER}


def _settled(found: Bottle, entry: Entry | None) -> tuple[str, str]:
    """Say what a bottle holds after it was weighed or counted."""
    if entry is None:
        return f"{found.code} holds what the books say. Nothing had to change.", page_of_bottle(
            found
        )
    found.refresh_from_db(fields=["remaining"])
    left = about(found.material, found.remaining) if found.remaining else "nothing"
    return f"{found.code} now holds {left}.", page_of_bottle(found)


@member_page("maker")
def weigh_in(request: StudioRequest, code: str) -> HttpResponse:
    """Set what is left by weight."""
    found = bottle_of(request, code)
    unknown = missing_to_weigh(found)
    return form_page(
        request,
        WeighInForm(request.POST or None),
        template="inventory/stock/weigh.html",
        title=f"Weigh {found.code} {found.material}",
        lead="" if unknown else _how_to_weigh(found),
        unknown=unknown,
        bottle=found,
        act=lambda data: stock.weigh_in(
            studio=request.studio, by=request.user, bottle=found, gross_g=data["gross_g"]
        ),
        done=lambda entry: _settled(found, entry),
        button="Set by weight",
        back=page_of_bottle(found),
        back_label=found.code,
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
    found = bottle_of(request, code)
    verb = "Count" if found.material.unit == Material.Unit.EACH else "Measure"
    return form_page(
        request,
        RecountForm(request.POST or None, studio=request.studio, bottle=found),
        title=f"{verb} {found.code} {found.material}",
        lead=f"The books say {about(found.material, found.remaining)}.",
        act=lambda data: stock.recount(
            studio=request.studio, by=request.user, bottle=found, quantity=data["quantity"]
        ),
        done=lambda entry: _settled(found, entry),
        button="Set what is left",
        back=page_of_bottle(found),
        back_label=found.code,
    )


def _use(*, bottle: Bottle, quantity: Decimal, **told: Any) -> Entry:
    return stock.use(
        amounts={bottle.material: quantity},
        bottles={bottle.material: [bottle]},
        purpose="Taken by hand",
        **told,
    )


TAKES = {  # service, title, button, what happened
    "use": (_use, "Use from", "Take out", "used"),
    "waste": (stock.waste, "Throw away from", "Throw away", "thrown away"),
    "send-back": (stock.send_back, "Send back from", "Send back", "sent back"),
}


@member_page("maker")
def take(request: StudioRequest, code: str, how: str) -> HttpResponse:
    """Take some out of a bottle: used, thrown away or sent back."""
    found = bottle_of(request, code)
    service, verb, button, past = TAKES[how]

    def act(data: dict[str, Any]) -> str:
        service(studio=request.studio, by=request.user, bottle=found, **data)
        return about(found.material, data["quantity"])

    return form_page(
        request,
        TakeForm(request.POST or None, studio=request.studio, bottle=found),
        title=f"{verb} {found.code} {found.material}",
        lead=f"It holds {about(found.material, found.remaining)}.",
        act=act,
        done=lambda taken: (f"{taken} of {found.code} {past}.", page_of_bottle(found)),
        button=button,
        back=page_of_bottle(found),
        back_label=found.code,
    )


@member_page("maker")
def decant(request: StudioRequest, code: str) -> HttpResponse:
    """Pour a bottle into another of the same material, or into a new one."""
    found = bottle_of(request, code)
    form = DecantForm(request.POST or None, studio=request.studio, bottle=found)

    def act(data: dict[str, Any]) -> Entry:
        return stock.decant(
            studio=request.studio,
            by=request.user,
            bottle=found,
            into=form.vessel(),
            quantity=data["quantity"],
            over_capacity=data["over_capacity"],
            why=data["why"],
        )

    return form_page(
        request,
        form,
        template="inventory/stock/decant.html",
        title=f"Pour {found.code} {found.material} over",
        lead=f"It holds {about(found.material, found.remaining)}. What is poured together keeps "
        "until the sooner of the two days.",
        hazard="resin" if found.material.kind in RESIN else "",
        bottle=found,
        act=act,
        done=lambda entry: _poured(found, entry),
        button="Pour over",
        back=page_of_bottle(found),
        back_label=found.code,
    )


def _poured(found: Bottle, entry: Entry) -> tuple[str, str]:
    """Say what went where, and show the bottle that holds it now."""
    came = entry.movements.select_related("bottle__material").get(
        kind=Movement.Kind.DECANT, quantity__gt=0
    )
    into = came.bottle
    held = about(into.material, into.remaining)
    poured = about(into.material, came.quantity)
    return (
        f"{poured} of {found.code} is in {into.code} now, which holds {held}.",
        page_of_bottle(into),
    )
