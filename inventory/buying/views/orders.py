"""Orders: what is asked of each supplier, from draft to delivery."""

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from inventory.buying import papers, purchasing
from inventory.buying.forms.orders import NewOrderForm, NewOrderLineForm, OrderLineForm
from inventory.errors import OrderRefused
from inventory.models import PurchaseOrder
from inventory.models.purchase import PurchaseOrderQuerySet
from studio.access import member_page
from studio.amounts import Times
from studio.dates import in_full as day
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.sight import seen_by
from studio.views.form_page import action, form_page
from studio.views.lists import period_page


@require_safe
@member_page("viewer")
def orders(request: StudioRequest) -> HttpResponse:
    """List the orders, newest first."""
    rows = request.studio.purchase_orders.select_related("supplier").with_totals()
    rows = rows.order_by("-number")  # a grouped query forgets the model's order
    context = period_page(request, rows, "created_at")
    return render(request, "inventory/buying/orders.html", context)


def _orders(request: StudioRequest) -> PurchaseOrderQuerySet:
    return request.studio.purchase_orders.select_related("supplier", "studio")


def _order(request: StudioRequest, number: int) -> PurchaseOrder:
    return get_object_or_404(_orders(request), number=number)


def _draft(request: StudioRequest, number: int) -> PurchaseOrder:
    """Return a draft order; what was sent stays as it is."""
    order = _order(request, number)
    if not order.may_be_changed:
        raise OrderRefused(
            f"{order} is {order.get_status_display().lower()}, so it stays as it is."
        )
    return order


@require_safe
@member_page("viewer")
def order(request: StudioRequest, number: int) -> HttpResponse:
    """Show one order and its lines."""
    order = get_object_or_404(_orders(request).with_totals(), number=number)
    context = {
        "order": order,
        "lines": order.lines.select_related("pack__material").annotate(
            amount=Times("count", "unit_price")
        ),
        "deliveries": order.deliveries.all(),
    }
    return render(request, "inventory/buying/order.html", context)


@member_page("maker")
def order_new(request: StudioRequest) -> HttpResponse:
    """Write an order by hand: its supplier first, then how many of each of its packs."""
    suppliers = request.studio.suppliers.filter(archived_at=None)
    key = request.GET.get("supplier", "")
    if not key:
        return render(request, "inventory/buying/order_new.html", {"suppliers": suppliers})
    if not (key.isascii() and key.isdecimal() and len(key) < 19):
        raise Http404
    supplier = get_object_or_404(suppliers, pk=int(key))
    form = NewOrderForm(request.POST or None, studio=request.studio, supplier=supplier)
    return form_page(
        request,
        form,
        template="inventory/buying/order_of_packs.html",
        title=f"Order from {supplier}",
        act=lambda data: purchasing.order_by_hand(
            studio=request.studio,
            by=request.user,
            supplier=supplier,
            packs=form.counts(),
            prices=form.prices(),
            notes=data["notes"],
        ),
        done=lambda order: (
            f"{order} is a draft: look it over, then send it.",
            reverse("order", args=[order.number]),
        ),
        button="Make the order",
        supplier=supplier,
        back=reverse("orders"),
        back_label="Orders",
    )


@member_page("maker")
def order_line_new(request: StudioRequest, number: int) -> HttpResponse:
    """Put another pack of the supplier on a draft."""
    order, order_url = _draft(request, number), reverse("order", args=[number])
    return form_page(
        request,
        NewOrderLineForm(request.POST or None, order=order, studio=request.studio),
        title=f"Add to {order}",
        act=lambda data: purchasing.add_line(order=order, **data),
        done=lambda line: (f"{line.pack.material}, {line.pack}, is on the order.", order_url),
        button="Add",
        back=order_url,
        back_label=str(order),
    )


@member_page("maker")
def order_line(request: StudioRequest, number: int, pk: int) -> HttpResponse:
    """Change how many of one pack a draft asks for; none takes the line out."""
    order, order_url = _draft(request, number), reverse("order", args=[number])
    line = get_object_or_404(order.lines.select_related("pack__material", "order"), pk=pk)
    return form_page(
        request,
        OrderLineForm(request.POST or None, initial={"count": line.count}, studio=request.studio),
        title=f"{line.pack.material}, {line.pack}",
        act=lambda data: purchasing.edit_line(line=line, **data),
        done=lambda new_line: (
            "The order is changed." if new_line else f"{line.pack.material} is off the order.",
            order_url,
        ),
        back=order_url,
        back_label=str(order),
    )


@require_POST
@member_page("maker")
def order_send(request: StudioRequest, number: int) -> HttpResponse:
    """Mark an order as sent to its supplier."""
    order, order_url = _order(request, number), reverse("order", args=[number])
    return action(
        request,
        lambda: purchasing.send_order(order=order, by=request.user),
        lambda sent: (
            f"{order} is sent; it should be here by {day(sent.expected_on)}."
            if sent.expected_on
            else f"{order} is sent.",
            order_url,
        ),
        back=order_url,
    )


@require_POST
@member_page("maker")
def order_cancel(request: StudioRequest, number: int) -> HttpResponse:
    """Call an order off; of one that came in part, the rest."""
    order, order_url = _order(request, number), reverse("order", args=[number])
    return action(
        request,
        lambda: purchasing.cancel_order(order=order, by=request.user),
        lambda result: (
            f"{order} is cancelled."
            if result.status == result.Status.CANCELLED
            else f"The rest of {order} is cancelled.",
            order_url,
        ),
        back=order_url,
    )


@require_safe
@member_page("viewer")
def order_sheet(request: StudioRequest, number: int) -> HttpResponse:
    """One order as a PDF to send or carry into the shop."""
    return pdf_response(
        papers.order_sheet(_order(request, number), seen_by(request.membership)),
        f"order-{number}.pdf",
    )
