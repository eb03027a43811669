"""Bottles: one container each, with a code, a life and what is left."""

from decimal import Decimal

from django.core.paginator import Paginator
from django.db.models import Q
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from inventory import stock
from inventory.forms import BottleForm, ReceiveForm, RecountForm, TakeForm, WeighInForm, WhyForm
from inventory.models import Movement
from inventory.purchasing import receive_delivery
from studio.access import member_page
from studio.charts import stock_life
from studio.views.form_page import action, form_page


def _bottle(request, code):
    bottles = request.studio.bottles.select_related("material", "delivery__supplier")
    return get_object_or_404(bottles, code__iexact=code)


def _page(bottle):
    return reverse("bottle", args=[bottle.code])


@require_GET
@member_page("viewer")
def bottles(request):
    """List the bottles on the shelf, found by code, material or place."""
    words = request.GET.get("q", "").strip()
    rows = request.studio.bottles.select_related("material")
    if not request.GET.get("all"):
        rows = rows.on_shelf().filter(remaining__gt=0)
    if words:
        rows = rows.filter(
            Q(code__iexact=words) | Q(material__name__icontains=words) | Q(place__icontains=words)
        )
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    part = request.headers.get("HX-Request")
    template = "inventory/_bottle_rows.html" if part else "inventory/bottles.html"
    return render(request, template, {"page": page, "words": words})


@require_GET
@member_page("viewer")
def bottle(request, code):
    """Show one bottle: what is left, and its life as a chart and a list."""
    found = _bottle(request, code)
    moves = list(found.movements.select_related("entry__by", "entry__reversed_by"))
    context = {
        "bottle": found,
        "movements": moves,
        "chart": _life(found, moves),
    }
    return render(request, "inventory/bottle.html", context)


def _life(bottle, moves):
    """Draw what was left at the end of each day something moved; None for a bottle just arrived."""
    left, days = Decimal(0), {}
    for move in moves:
        left += move.quantity
        days[timezone.localdate(move.entry.happened_at)] = float(left)
    if len(days) < 2:
        return None
    unit = bottle.material.get_unit_display()
    return stock_life(
        list(days.items()),
        y_title=f"Left ({unit})" if unit != "each" else "Left",
        caption=f"What was left in {bottle.code}",
    )


@member_page("maker")
def receive(request, pk):
    """Bring in bottles bought without an order, or opening stock."""
    material = get_object_or_404(request.studio.materials, pk=pk)
    form = ReceiveForm(request.POST or None, studio=request.studio, material=material)

    def act(data):
        receipt = stock.Receipt(
            material=material,
            quantity=data["size"],
            value=data["price"],
            expires_on=data["expires_on"],
            place=data["place"],
        )
        return receive_delivery(
            studio=request.studio,
            by=request.user,
            supplier=data["supplier"],
            receipts=[receipt] * data["bottles"],
            received_on=data["received_on"],
            freight=data["freight"] or Decimal(0),
            kind=Movement.Kind.OPENING if data["opening"] else Movement.Kind.RECEIPT,
        )

    here = reverse("material", args=[pk])
    return form_page(
        request,
        form,
        title=f"Receive {material.name}",
        act=act,
        done=lambda delivery: (f"{material} is on the shelf.", here),
        button="Put on the shelf",
        back=here,
    )


@member_page("maker")
def edit(request, code):
    """Change where a bottle stands, its dates, tare and density."""
    found = _bottle(request, code)
    form = BottleForm(request.POST or None, instance=found, studio=request.studio)
    return form_page(
        request,
        form,
        title=f"Change bottle {found.code}",
        act=lambda _: form.save(),
        done=lambda kept: (f"Bottle {kept.code} is saved.", _page(kept)),
        back=_page(found),
    )


@member_page("maker")
def weigh_in(request, code):
    """Set what is left by weight."""
    found = _bottle(request, code)
    form = WeighInForm(request.POST or None)

    def act(data):
        stock.weigh_in(
            studio=request.studio, by=request.user, bottle=found, gross_g=data["gross_g"]
        )
        return found

    return form_page(
        request,
        form,
        title=f"Weigh {found.code} {found.material}",
        lead="Put the whole bottle on the scale, lid on or off as its tare was taken.",
        act=act,
        done=lambda kept: (f"Bottle {kept.code} is weighed in.", _page(kept)),
        button="Set by weight",
        back=_page(found),
    )


@member_page("maker")
def recount(request, code):
    """Set what is left by count or measure."""
    found = _bottle(request, code)
    form = RecountForm(request.POST or None, studio=request.studio, bottle=found)

    def act(data):
        stock.recount(
            studio=request.studio, by=request.user, bottle=found, quantity=data["quantity"]
        )
        return found

    return form_page(
        request,
        form,
        title=f"Count {found.code} {found.material}",
        act=act,
        done=lambda kept: (f"Bottle {kept.code} is counted.", _page(kept)),
        button="Set by count",
        back=_page(found),
    )


def _use(request, found, data):
    stock.use(
        studio=request.studio,
        by=request.user,
        amounts={found.material: data["quantity"]},
        bottles={found.material: [found]},
        why=data["why"],
        purpose="Taken by hand",
    )


def _waste(request, found, data):
    stock.waste(
        studio=request.studio,
        by=request.user,
        bottle=found,
        quantity=data["quantity"],
        why=data["why"],
    )


def _send_back(request, found, data):
    stock.send_back(
        studio=request.studio,
        by=request.user,
        bottle=found,
        quantity=data["quantity"],
        why=data["why"],
    )


TAKES = {
    "use": (_use, "Use from", "Take out", "used"),
    "waste": (_waste, "Throw away from", "Throw away", "thrown away"),
    "send-back": (_send_back, "Send back from", "Send back", "sent back"),
}


@member_page("maker")
def take(request, code, how):
    """Take some out of a bottle: used, thrown away or sent back."""
    found = _bottle(request, code)
    service, verb, button, past = TAKES[how]
    form = TakeForm(request.POST or None, studio=request.studio, bottle=found)

    def act(data):
        service(request, found, data)
        return found

    return form_page(
        request,
        form,
        title=f"{verb} {found.code} {found.material}",
        act=act,
        done=lambda kept: (f"Recorded as {past}: {kept.code}.", _page(kept)),
        button=button,
        back=_page(found),
    )


@require_POST
@member_page("maker")
def open_bottle(request, code):
    """Note that a bottle was opened today."""
    found = _bottle(request, code)

    def act():
        stock.open_bottle(bottle=found, day=request.studio.today())
        return found

    return action(
        request, act, lambda kept: (f"Opened {kept.code} today.", _page(kept)), back=_page(found)
    )


@require_GET
@member_page("viewer")
def entries(request):
    """List the ledger, newest first."""
    rows = request.studio.entries.select_related("by", "reversed_by", "reverses")
    rows = rows.prefetch_related("movements__material", "movements__bottle")
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    return render(request, "inventory/entries.html", {"page": page})


@require_GET
@member_page("viewer")
def entry(request, pk):
    """Show one entry of the ledger and all it moved."""
    rows = request.studio.entries.select_related("by", "reversed_by", "reverses")
    found = get_object_or_404(rows, pk=pk)
    moves = found.movements.select_related("material", "bottle")
    return render(request, "inventory/entry.html", {"entry": found, "movements": moves})


@member_page("maker")
def reverse_entry(request, pk):
    """Undo an entry by its mirror image."""
    found = get_object_or_404(request.studio.entries, pk=pk)
    here = reverse("entry", args=[pk])

    def act(data):
        return stock.reverse(studio=request.studio, by=request.user, entry=found, why=data["why"])

    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Undo “{found}”",
        lead="The entry stays on record; a second one puts everything back.",
        act=act,
        done=lambda made: (
            "Undone. Both entries stay on record.",
            reverse("entry", args=[made.pk]),
        ),
        button="Undo",
        back=here,
    )
