"""What a person may type about what came without an order."""

from collections.abc import Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.buying.purchasing.arrivals import Arrival
from inventory.models import Material, Pack
from inventory.stock.forms.bottles import date_field
from studio.formfields import amount_field, money_field
from studio.models import Studio

EMPTY_LINES = 6
MOST_LINES = 60


class ArrivalsForm(forms.Form):
    """When it came, with which invoice, and what its way here cost."""

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["received_on"] = date_field(label="Arrived on", initial=studio.today)
        self.fields["reference"] = forms.CharField(
            label="Invoice number", max_length=80, required=False
        )
        self.fields["freight"] = money_field(
            studio,
            label="Shipping and duty for all",
            required=False,
            hint="Where all of it is from one supplier.",
        )


class ArrivalForm(forms.Form):
    """One line: what, how many, what is in each and what each cost."""

    def __init__(self, *args: Any, studio: Studio, offers: "Offers", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio, self.offers = studio, offers
        self.fields["what"] = forms.ChoiceField(
            label="What", choices=offers.choices, required=False
        )
        self.fields["count"] = forms.IntegerField(
            label="How many", min_value=1, max_value=500, required=False
        )
        self.fields["size"] = forms.CharField(label="In each", max_length=60, required=False)
        self.fields["price"] = money_field(studio, label="Paid for each", required=False)
        self.fields["expires_on"] = date_field(label="Expires on", required=False)
        for name, field in self.fields.items():
            field.widget.attrs |= {"data-column": name, "aria-label": field.label}

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if not any(data.get(name) for name in self.fields) and not self.errors:
            return data
        if not data.get("what") and "what" not in self.errors:
            self.add_error("what", "Say what it is.")
        if not data.get("count") and "count" not in self.errors:
            self.add_error("count", "Say how many.")
        if data.get("what"):
            self._read_size(data)
        return data

    def _read_size(self, data: dict[str, Any]) -> None:
        pack, material = self.offers.chosen(data["what"])
        if text := data.get("size"):
            try:
                data["size"] = amount_field(self.studio, material).clean(text)
            except ValidationError as error:
                self.add_error("size", error)
        elif pack is None:
            self.add_error("size", "Say how much is in each.")
        if pack is None and data.get("price") is None and "price" not in self.errors:
            self.add_error("price", "Say what each cost; 0 for nothing.")

    def arrival(self) -> Arrival | None:
        """Return what the line says; None of an empty one."""
        data = self.cleaned_data
        if not data.get("what"):
            return None
        pack, material = self.offers.chosen(data["what"])
        return Arrival(
            material=material,
            count=data["count"],
            pack=pack,
            size=data["size"] or None,
            price=data["price"],
            expires_on=data["expires_on"],
        )


class Offers:
    """The packs that suppliers sell, and the materials that may come without one."""

    def __init__(self, studio: Studio) -> None:
        packs = studio.packs.on_offer().filter(material__is_stocked=True)
        packs = packs.select_related("material", "supplier")
        self.packs = {f"pack-{pack.pk}": pack for pack in packs.order_by("supplier__name", "pk")}
        materials = studio.materials.current().filter(is_stocked=True)
        self.materials = {f"material-{row.pk}": row for row in materials.by_kind()}
        groups: dict[str, list[tuple[str, str]]] = {}
        for key, pack in sorted(self.packs.items(), key=lambda one: one[1].material.name):
            groups.setdefault(str(pack.supplier), []).append((key, f"{pack.material}, {pack}"))
        loose = [(key, str(row)) for key, row in self.materials.items()]
        self.choices = [
            ("", "Choose"),
            *sorted(groups.items()),
            *([("Without a supplier", loose)] if loose else []),
        ]

    def chosen(self, key: str) -> tuple[Pack | None, Material]:
        """Return the pack that was chosen, if it is one, and its material."""
        pack = self.packs.get(key)
        return (pack, pack.material) if pack else (None, self.materials[key])


class ArrivalLines(forms.BaseFormSet):
    """The lines of what came."""

    def arrivals(self) -> Iterator[Arrival]:
        """Yield what each line that is not empty says."""
        for form in self.forms:
            if arrival := form.arrival():
                yield arrival


def arrival_lines(studio: Studio, data: Any) -> ArrivalLines:
    """Return the lines as sent, or empty ones."""
    kind: Any = forms.formset_factory(
        ArrivalForm,
        formset=ArrivalLines,
        extra=EMPTY_LINES,
        max_num=MOST_LINES,
        absolute_max=MOST_LINES,
        validate_max=True,
    )
    options: dict[str, Any] = {"studio": studio, "offers": Offers(studio)}
    lines: ArrivalLines = kind(data, prefix="lines", form_kwargs=options)
    return lines
