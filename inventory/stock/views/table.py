"""All materials in one table: typed or pasted, and saved in one act."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.models import Material
from inventory.stock.forms.table import TableForm
from inventory.stock.table import COLUMNS, Saved, TableRefused, save_table, shown_rows
from studio.access import member_page
from studio.requests import StudioRequest
from studio.sight import COSTS
from studio.views.form_page import form_page, new_token
from studio.views.lists import page_of

PAGE = "inventory/stock/table.html"


@member_page("maker", COSTS)
def table(request: StudioRequest) -> HttpResponse:
    """Add and change many materials, packs, prices and amounts at once."""
    kind = request.GET.get("kind", "")
    current = request.studio.materials.current()
    rows = current.filter(kind=kind) if kind in Material.Kind.values else current
    page = page_of(request, rows.by_kind())
    sent = request.method == "POST"
    materials = current.filter(pk__in=TableForm.keys_of(request.POST)) if sent else page
    form = TableForm(request.POST or None, shown=shown_rows(request.studio, materials))
    suppliers = request.studio.suppliers.filter(archived_at=None)
    context: dict[str, Any] = {
        "page": page,
        "kind": kind,
        "kinds": Material.Kind.choices,
        "columns": COLUMNS,
        "suppliers": suppliers.values_list("name", flat=True),
        "back": reverse("materials"),
        "back_label": "Materials",
    }
    title, button = "All materials in one table", "Save the table"
    if sent and form.is_valid() and form.cleaned_data["paste"].strip():
        form.take_pasted()
        form.data = {name: form.data[name] for name in form.data if name != "paste"}
        context |= {"form": form, "title": title, "button": button, "was_pasted": True}
        return render(request, PAGE, {**context, "once": new_token()})

    def act(_: Any) -> Saved:
        try:
            return save_table(studio=request.studio, by=request.user, rows=form.sent)
        except TableRefused as refusal:
            form.faults = refusal.faults
            form.lay_over()
            raise

    return form_page(
        request,
        form,
        template=PAGE,
        title=title,
        act=act,
        done=lambda saved: (saved.sentence, request.get_full_path()),
        button=button,
        **context,
    )
