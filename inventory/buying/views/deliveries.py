"""What arrives: with an order or without one."""

from collections.abc import Iterator
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.buying import purchasing
from inventory.buying.forms.arrivals import ArrivalsForm, arrival_lines
from inventory.buying.forms.orders import ReceiveOrderForm
from inventory.errors import OrderRefused
from inventory.models import Delivery, Movement
from inventory.stock import ledger as stock
from inventory.stock.forms.bottles import PART_USED, ReceiveForm
from inventory.words import called, listed, lot_named
from studio.access import member_page
from studio.money import ZERO
from studio.requests import StudioRequest
from studio.sight import COSTS
from studio.views.form_page import form_page

MOST_NAMED = 6


def _on_the_shelf(*deliveries: Delivery) -> SafeString:
    """Say what came: lots by their number, bottles by the codes to be written on them."""
    return format_html_join(" ", "{}", ((said,) for one in deliveries for said in _said_of(one)))


def _said_of(delivery: Delivery) -> Iterator[SafeString]:
    rows = list(delivery.bottles.select_related("material").order_by("pk"))
    codes = [row.code for row in rows if called(row.material) == "bottle"]
    if lots := [lot_named(row) for row in rows if called(row.material) != "bottle"]:
        yield format_html("On the shelf: {}.", listed(lots))
    if codes:
        yield format_html(
            'On the shelf as {}. <a href="{}?delivery={}">Print labels</a>, or write the code on '
            "the bottle.",
            listed(codes) if len(codes) <= MOST_NAMED else f"{codes[0]} to {codes[-1]}",
            reverse("labels"),
            delivery.pk,
        )


@member_page("maker", COSTS)
def receive(request: StudioRequest, pk: int) -> HttpResponse:
    """Bring in bottles bought without an order, or opening stock."""
    material = get_object_or_404(request.studio.materials, pk=pk)
    key = request.GET.get("pack", "")
    pack = material.packs.filter(pk=key).first() if key.isdecimal() and len(key) < 19 else None
    material_url = reverse("material", args=[pk])

    def act(data: dict[str, Any]) -> Delivery:
        part_used: dict[str, Any] = {name: data[name] or None for name in PART_USED if name in data}
        receipt = stock.Receipt(
            material=material,
            quantity=data["size"],
            value=data["price"],
            expires_on=data["expires_on"],
            place=data["place"],
            **part_used,
        )
        return purchasing.receive_delivery(
            studio=request.studio,
            by=request.user,
            supplier=data["supplier"],
            receipts=[receipt] * data["bottles"],
            received_on=data["received_on"],
            freight=data["freight"] or ZERO,
            discount=data["discount"] or ZERO,
            currency=data["currency"],
            rate=data["rate"],
            kind=Movement.Kind.OPENING if data["opening"] else Movement.Kind.RECEIPT,
        )

    return form_page(
        request,
        ReceiveForm(request.POST or None, studio=request.studio, material=material, pack=pack),
        template="inventory/buying/receive_form.html",
        title=f"Receive {material}",
        act=act,
        done=lambda delivery: (_on_the_shelf(delivery), material_url),
        button="Put on the shelf",
        back=material_url,
        back_label=str(material),
    )


@member_page("maker", COSTS)
def what_came(request: StudioRequest) -> HttpResponse:
    """Bring in several packs at once that came without an order, from one or several suppliers."""
    form = ArrivalsForm(request.POST or None, studio=request.studio)
    lines = arrival_lines(request.studio, request.POST or None)
    return form_page(
        request,
        form,
        template="inventory/buying/what_came.html",
        title="What came",
        is_valid=lambda: all([form.is_valid(), lines.is_valid()]),
        act=lambda data: purchasing.receive_arrivals(
            studio=request.studio,
            by=request.user,
            arrivals=list(lines.arrivals()),
            received_on=data["received_on"],
            reference=data["reference"],
            freight=data["freight"] or ZERO,
        ),
        done=lambda deliveries: (_on_the_shelf(*deliveries), reverse("materials")),
        button="Put on the shelf",
        lines=lines,
        back=reverse("materials"),
        back_label="Materials",
    )


@member_page("maker")
def order_receive(request: StudioRequest, number: int) -> HttpResponse:
    """Receive an order, all of it or in part."""
    orders = request.studio.purchase_orders.select_related("supplier", "studio")
    order = get_object_or_404(orders, number=number)
    order_url = reverse("order", args=[number])
    if request.method == "GET" and not order.may_be_received:
        raise OrderRefused(f"{order} is {order.get_status_display().lower()}: nothing is to come.")
    form = ReceiveOrderForm(request.POST or None, studio=request.studio, order=order)

    def act(data: dict[str, Any]) -> Delivery:
        return purchasing.receive_order(
            order=order,
            by=request.user,
            counts=form.counts(),
            prices=form.prices(),
            received_on=data["received_on"],
            freight=data.get("freight", form.initial.get("freight")) or ZERO,
            duty=data.get("duty") or ZERO,
            discount=data.get("discount") or ZERO,
            reference=data["reference"],
            currency=data["currency"],
            rate=data["rate"],
        )

    return form_page(
        request,
        form,
        template="inventory/buying/order_receive.html",
        title=f"Receive {order} from {order.supplier}",
        act=act,
        done=lambda delivery: (_on_the_shelf(delivery), order_url),
        button="Put on the shelf",
        back=order_url,
        back_label=str(order),
    )
