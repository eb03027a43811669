"""Forms for rows that belong to a studio."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import QuerySet

from studio.formfields import field_of
from studio.models import Studio
from studio.rows import keep_row
from studio.sight import Sight
from studio.units.numerals import trimmed

TWICE = "unique_together"  # Django's code for a constraint over several fields


class StudioModelForm(forms.ModelForm):
    """A model form that knows its studio.

    Choices offer only the studio's own rows (and none that are archived, unless chosen before), and
    a name that the studio already uses is refused beside its field instead of by the database.

    ``sights`` is {name: kind} of fields that not every member sees, see `studio.sight`.
    """

    sights: ClassVar[Mapping[str, Sight]] = {}

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        self.instance.studio = studio
        for name, field in self.fields.items():
            if isinstance(field, forms.ModelChoiceField) and field.queryset is not None:
                field.queryset = own_choices(
                    field.queryset, studio, keep=getattr(self.instance, f"{name}_id", None)
                )
        for name, value in self.initial.items():
            if isinstance(value, Decimal):
                self.initial[name] = Decimal(trimmed(value))  # 148, not 148.00

    def save(self, commit: bool = True) -> Any:
        return keep_row(row=self.instance)

    def _get_validation_exclusions(self) -> set[str]:
        return super()._get_validation_exclusions() - {"studio"}  # type: ignore[misc]  # the stubs lack it

    def _update_errors(self, errors: ValidationError) -> None:
        """Say what stands twice in words, beside the first field that makes it so."""
        errors_by_field = getattr(errors, "error_dict", {})
        for error in [
            one for one in errors_by_field.get(NON_FIELD_ERRORS, []) if one.code == TWICE
        ]:
            errors_by_field[NON_FIELD_ERRORS].remove(error)
            names = error.params["unique_check"]
            field = next((name for name in names if name in self.fields), None)
            self.add_error(field, ValidationError(self._twice(names), code="taken"))
        if not errors_by_field.get(NON_FIELD_ERRORS, True):
            del errors_by_field[NON_FIELD_ERRORS]
        if not hasattr(errors, "error_dict") or errors_by_field:
            super()._update_errors(errors)  # type: ignore[misc]  # the stubs lack it

    def _twice(self, names: Sequence[str]) -> str:
        row, model = self.instance, self._meta.model
        same = model.objects.filter(**{name: getattr(row, name) for name in names})
        same = same.exclude(pk=row.pk).first()
        text = f"{str(model._meta.verbose_name).capitalize()} “{same}” already exists."
        if getattr(same, "archived_at", None):
            text += " It was archived: bring it back instead, or choose another name."
        return text


def own_choices(queryset: QuerySet[Any], studio: Studio, keep: int | None = None) -> QuerySet[Any]:
    """Narrow a queryset to a studio's rows that are not archived, or are already chosen."""
    names = {field.name for field in queryset.model._meta.get_fields()}
    if "studio" in names:
        queryset = queryset.filter(studio=studio)
    if "archived_at" in names:
        live = queryset.filter(archived_at=None)
        queryset = live | queryset.filter(pk=keep) if keep else live
    return queryset


def narrow(form: forms.BaseForm, name: str, **by: object) -> None:
    """Offer only some of the rows that a field of a form chooses among; a new one is such a row."""
    field = field_of(form, name, forms.ModelChoiceField)
    assert field.queryset is not None
    field.queryset = field.queryset.filter(**by)
    start_new(form, name, **{key: text for key, text in by.items() if isinstance(text, str)})


def start_new(form: forms.BaseForm, name: str, **with_: str) -> None:
    """Say what a row that is made for a field starts with, by field, see `studio.making`."""
    field = vars(form.fields[name])
    field["made_as"] = field.get("made_as", {}) | with_


def make_none(form: forms.BaseForm, name: str) -> None:
    """Offer no new row beside a field, since the form itself has a place for one."""
    vars(form.fields[name])["made_as"] = None
