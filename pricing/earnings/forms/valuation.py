"""What may be typed of what a thing on hand would bring."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from inventory.models import Bottle, Material
from inventory.stock.forms.bottles import date_field
from pricing.models import PieceSet
from studio.formfields import money_field
from studio.models import Studio

Thing = Material | Bottle | PieceSet


class AppraisalForm(forms.Form):
    """One material, bottle or set on hand, what it would bring, and why."""

    def __init__(
        self, *args: Any, studio: Studio, chosen: Mapping[str, str] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        bottles = studio.bottles.filter(remaining__gt=0).select_related("material")
        self._groups: dict[str, Iterable[Thing]] = {
            "material": studio.materials.filter(on_hand__gt=0).order_by("name"),
            "bottle": bottles.order_by("material__name", "code"),
            "set": studio.sets.unsold().order_by("number"),
        }
        labels = {"material": "All of a material", "bottle": "One bottle", "set": "A set"}
        self._things = {
            f"{kind}-{row.pk}": row for kind, rows in self._groups.items() for row in rows
        }
        self.fields["thing"] = forms.ChoiceField(
            label="What",
            choices=[
                ("", "Choose"),
                *(
                    (label, [(f"{kind}-{row.pk}", _words(row)) for row in self._of(kind)])
                    for kind, label in labels.items()
                ),
            ],
            initial=(chosen or {}).get("thing"),
        )
        self.fields["value"] = money_field(
            studio, label="All of it would bring", hint="0 if nobody would pay for it."
        )
        self.fields["reason"] = forms.CharField(
            label="Why", max_length=200, help_text="Such as “skinned over” or “offer of a class”."
        )
        self.fields["day"] = date_field(label="As of", initial=studio.today)

    def _of(self, kind: str) -> list[Thing]:
        return [row for key, row in self._things.items() if key.startswith(f"{kind}-")]

    @property
    def thing(self) -> Thing:
        """The row that was chosen."""
        return self._things[self.cleaned_data["thing"]]


def _words(row: Thing) -> str:
    return f"{row.code}, {row.material}" if isinstance(row, Bottle) else str(row)
