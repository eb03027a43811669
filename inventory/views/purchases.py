"""Buying: suppliers and packs, what to buy, orders and deliveries."""

from decimal import Decimal

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, F, Sum
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from inventory import papers, purchasing
from inventory.forms import OrderLineForm, PackForm, ReceiveOrderForm, SupplierForm
from studio.access import member_page
from studio.errors import StudioError, in_words
from studio.money import MoneyError, parse_money
from studio.views.form_page import action, form_page


@require_GET
@member_page("viewer")
def suppliers(request):
    """List the suppliers."""
    rows = request.studio.suppliers.filter(archived_at=None).annotate(pack_count=Count("packs"))
    return render(request, "inventory/suppliers.html", {"suppliers": rows})


@require_GET
@member_page("viewer")
def supplier(request, pk):
    """Show one supplier, its terms and its packs."""
    found = get_object_or_404(request.studio.suppliers, pk=pk)
    packs = found.packs.select_related("material")
    return render(request, "inventory/supplier.html", {"supplier": found, "packs": packs})


def _supplier_form(request, found, title, back):
    form = SupplierForm(request.POST or None, instance=found, studio=request.studio)
    return form_page(
        request,
        form,
        title=title,
        act=lambda _: form.save(),
        done=lambda kept: (f"{kept} is saved.", reverse("supplier", args=[kept.pk])),
        back=back,
    )


@member_page("maker")
def supplier_new(request):
    """Add a supplier."""
    return _supplier_form(request, None, "New supplier", reverse("suppliers"))


@member_page("maker")
def supplier_edit(request, pk):
    """Change a supplier's terms."""
    found = get_object_or_404(request.studio.suppliers, pk=pk)
    return _supplier_form(request, found, f"Change {found}", reverse("supplier", args=[pk]))


def _pack_form(request, supplier_found, pack, title):
    form = PackForm(
        request.POST or None, instance=pack, studio=request.studio, supplier=supplier_found
    )
    here = reverse("supplier", args=[supplier_found.pk])
    return form_page(
        request,
        form,
        title=title,
        act=lambda _: form.save(),
        done=lambda kept: (f"{kept.material}, {kept}, is saved.", here),
        back=here,
    )


@member_page("maker")
def pack_new(request, pk):
    """Add a pack to a supplier."""
    found = get_object_or_404(request.studio.suppliers, pk=pk)
    return _pack_form(request, found, None, f"New pack from {found}")


@member_page("maker")
def pack_edit(request, pk):
    """Change a pack's size or price; past deliveries keep theirs."""
    found = get_object_or_404(request.studio.packs.select_related("supplier"), pk=pk)
    return _pack_form(request, found.supplier, found, "Change a pack")


def _budget(request):
    text = request.GET.get("budget", "").strip()
    if not text:
        return None, text
    return parse_money(text, request.studio.currency), text


def _posted_budget(request):
    text = request.POST.get("budget", "").strip()
    with in_words(MoneyError):
        return parse_money(text, request.studio.currency) if text else None


def _plan(request):
    """Work out what to buy; a refusal comes back as a sentence beside no plan."""
    try:
        budget, text = _budget(request)
        return purchasing.plan(studio=request.studio, budget=budget), text, ""
    except (StudioError, MoneyError) as error:
        return None, request.GET.get("budget", ""), str(error)


@require_GET
@member_page("viewer")
def reorder(request):
    """Show what to buy now, where and in which packs, for the least money."""
    plan, budget, problem = _plan(request)
    context = {"plan": plan, "budget": budget, "problem": problem}
    return render(request, "inventory/reorder.html", context)


@require_GET
@member_page("viewer")
def reorder_sheet(request):
    """The reorder sheet as a PDF, all suppliers or one."""
    plan, _, problem = _plan(request)
    if plan is None:
        messages.error(request, problem)
        return redirect("reorder")
    pdf = papers.reorder_sheet(request.studio, plan, supplier=request.GET.get("supplier"))
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={"Content-Disposition": 'inline; filename="reorder-sheet.pdf"'},
    )


@require_POST
@member_page("maker")
def make_orders(request):
    """Turn the plan into draft orders."""
    return action(
        request,
        lambda: purchasing.make_orders(
            studio=request.studio,
            by=request.user,
            plan=purchasing.plan(studio=request.studio, budget=_posted_budget(request)),
        ),
        lambda made: (f"{len(made)} draft orders are ready to look over.", reverse("orders")),
        back=reverse("reorder"),
    )


@require_GET
@member_page("viewer")
def orders(request):
    """List the orders, newest first."""
    rows = request.studio.purchase_orders.select_related("supplier").annotate(
        goods=Sum(F("lines__count") * F("lines__unit_price"))
    )
    rows = rows.order_by("-number")  # a grouped query forgets the model's order
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    return render(request, "inventory/orders.html", {"page": page})


def _order(request, number):
    rows = request.studio.purchase_orders.select_related("supplier")
    return get_object_or_404(rows, number=number)


@require_GET
@member_page("viewer")
def order(request, number):
    """Show one order and its lines."""
    found = _order(request, number)
    lines = found.lines.select_related("pack__material").annotate(
        amount=F("count") * F("unit_price")
    )
    goods = sum((line.amount for line in lines), Decimal(0))
    context = {
        "order": found,
        "lines": lines,
        "goods": goods,
        "total": goods + found.shipping,
        "deliveries": found.deliveries.all(),
    }
    return render(request, "inventory/order.html", context)


@member_page("maker")
def order_line(request, number, pk):
    """Change how many of one pack a draft asks for; none takes the line out."""
    found = _order(request, number)
    line = get_object_or_404(found.lines.select_related("pack__material"), pk=pk)
    here = reverse("order", args=[number])
    return form_page(
        request,
        OrderLineForm(request.POST or None, initial={"count": line.count}),
        title=f"{line.pack.material}, {line.pack}",
        act=lambda data: purchasing.edit_line(line=line, count=data["count"]),
        done=lambda _: ("The order is changed.", here),
        back=here,
    )


@require_POST
@member_page("maker")
def order_send(request, number):
    """Mark an order as sent to its supplier."""
    found, here = _order(request, number), reverse("order", args=[number])
    return action(
        request,
        lambda: purchasing.send_order(order=found, by=request.user),
        lambda _: (f"{found} is on its way.", here),
        back=here,
    )


@require_POST
@member_page("maker")
def order_cancel(request, number):
    """Call an order off."""
    found, here = _order(request, number), reverse("order", args=[number])
    return action(
        request,
        lambda: purchasing.cancel_order(order=found, by=request.user),
        lambda _: (f"{found} is cancelled.", here),
        back=here,
    )


@member_page("maker")
def order_receive(request, number):
    """Receive an order, all of it or in part."""
    found, here = _order(request, number), reverse("order", args=[number])
    form = ReceiveOrderForm(request.POST or None, studio=request.studio, order=found)

    def act(data):
        return purchasing.receive_order(
            order=found,
            by=request.user,
            counts=form.counts(),
            prices=form.prices(),
            received_on=data["received_on"],
            freight=data["freight"] or Decimal(0),
            duty=data["duty"] or Decimal(0),
            discount=data["discount"] or Decimal(0),
            reference=data["reference"],
        )

    return form_page(
        request,
        form,
        title=f"Receive {found} from {found.supplier}",
        lead="Say how many of each came. Leave a price empty when it is the one on the order.",
        act=act,
        done=lambda _: ("The bottles are on the shelf.", here),
        button="Put on the shelf",
        back=here,
    )


@require_GET
@member_page("viewer")
def order_sheet(request, number):
    """One order as a PDF to send or carry into the shop."""
    found = _order(request, number)
    return HttpResponse(
        papers.order_sheet(found),
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="order-{number}.pdf"'},
    )
