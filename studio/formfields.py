"""Form fields that read amounts the way a person writes them."""

import re
from collections.abc import Callable
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from functools import partial
from typing import Any, TypeVar

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils import timezone

from studio.dates import FIRST_DAY, LAST_DAY, validate_day
from studio.models import Studio
from studio.money import MoneyError, parse_money, to_payable
from studio.pictures import MOST_BYTES, PictureError, Prepared, prepare
from studio.units import (
    QUANTITY_PLACES,
    UnitsError,
    format_temperature,
    parse_amount,
    parse_length,
    parse_mass,
    parse_size,
    parse_temperature,
    parse_volume,
)
from studio.units.materials import Counted
from studio.units.numerals import trimmed

NONE = re.compile(r"0+([.,]0+)?\s*(ml|g)?|none")


class ReadField(forms.CharField):
    """A text field read by a function that refuses in a sentence; empty text is None.

    A number that is filled in is written by ``writer``, so that it can be read back.
    """

    def __init__(
        self,
        reader: Callable[[str], Any],
        *,
        writer: Callable[[Decimal], str] | None = None,
        hint: str = "",
        inputmode: str = "text",
        **options: Any,
    ) -> None:
        options.setdefault("max_length", 60)
        options.setdefault("help_text", hint)
        super().__init__(**options)
        self.reader, self.writer = reader, writer
        self.widget.attrs.update({"autocomplete": "off", "inputmode": inputmode})

    def prepare_value(self, value: Any) -> Any:
        return self.writer(value) if self.writer and isinstance(value, Decimal) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return super().has_changed(self.prepare_value(initial), data)

    def clean(self, value: Any) -> Any:
        text = super().clean(self.prepare_value(value))
        if not text:
            return None
        try:
            return self.reader(text)
        except (UnitsError, MoneyError) as error:
            raise forms.ValidationError(str(error), code="unreadable") from error


Kind = TypeVar("Kind", bound=forms.Field)


def field_of(form: forms.BaseForm, name: str, kind: type[Kind]) -> Kind:
    """Return a field of a form that is known to be of a kind."""
    field = form.fields[name]
    assert isinstance(field, kind)
    return field


def volume_field(studio: Studio, **options: Any) -> ReadField:
    """A volume, such as “1½ tbsp” or “250 mL”, in mL."""
    options.setdefault("hint", "Such as 22 mL, 1½ tbsp or ¾ cup.")
    return ReadField(partial(parse_volume, measures=studio.measures), **options)


def amount_field(
    studio: Studio, material: Counted, *, allow_zero: bool = False, **options: Any
) -> ReadField:
    """An amount of one material, in the unit it is counted in; a plain 0 only where allowed."""
    hints = {
        "ml": "Such as 250 mL, 1½ cups or 8 fl oz.",
        "g": "Such as 450 g or 1 lb.",
        "each": "A whole number, such as 12.",
    }
    options.setdefault("hint", hints[material.unit])

    def read(text: str) -> Decimal:
        if allow_zero and NONE.fullmatch(text.strip().lower()):
            return Decimal(0)
        return parse_amount(
            text,
            unit=material.unit,
            measures=studio.measures,
            density=material.density_g_per_ml,
        )

    return ReadField(read, **options)


class AmountText(forms.CharField):
    """An amount of a material that is known only once the form is read, see `read_amount`."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=60, **options)
        self.widget.attrs["autocomplete"] = "off"


def read_amount(
    form: forms.BaseForm, name: str, studio: Studio, material: Counted, *, allow_zero: bool = False
) -> None:
    """Read the text of an `AmountText` of a form in ``clean``, in the unit of its material."""
    text = form.cleaned_data.get(name)
    form.cleaned_data[name] = None
    if not text:
        return
    try:
        value = amount_field(studio, material, allow_zero=allow_zero).clean(text)
    except forms.ValidationError as error:
        form.add_error(name, error)
    else:
        form.cleaned_data[name] = value.quantize(QUANTITY_PLACES, ROUND_HALF_UP)


def show_amount(form: forms.BaseForm, name: str, material: Counted) -> None:
    """Fill in an amount so that it can be read back: ``500 mL``."""
    value = form.initial.get(name)
    if isinstance(value, Decimal):
        unit = "" if material.unit == "each" else f" {material.get_unit_display()}"
        form.initial[name] = f"{trimmed(value)}{unit}"


def length_field(studio: Studio, **options: Any) -> ReadField:
    """A length, such as “4¼ in” or “108 mm”, in mm."""
    options.setdefault("hint", "Such as 4¼ in or 108 mm.")
    return ReadField(partial(parse_length, default_unit=studio.lengths), **options)


def size_field(studio: Studio, **options: Any) -> ReadField:
    """A size, such as “8 × 8 × 1½ in”, “4 in round” or, in the studio's own unit, “8x8”."""
    options.setdefault("hint", "Such as 8 × 8 × 1½ in, 10 × 10 cm or 4 in round.")
    return ReadField(partial(parse_size, default_unit=studio.lengths), **options)


def mass_field(
    *, least: Decimal = Decimal(0), most: Decimal = Decimal(1_000_000), **options: Any
) -> ReadField:
    """A weight, such as “45 g” or “1.6 oz”, in g to a hundredth; a plain number is g.

    ``least`` and ``most`` are in g.
    """
    options.setdefault("hint", "Such as 45 g or 1.6 oz.")

    def read(text: str) -> Decimal:
        is_none = NONE.fullmatch(text.strip().lower())
        mass_g = Decimal(0) if is_none else round(parse_mass(text), 2)
        if not least <= mass_g <= most:
            raise UnitsError(f"Give a weight from {trimmed(least)} to {trimmed(most)} g.")
        return mass_g

    return ReadField(read, writer=lambda mass_g: f"{trimmed(mass_g)} g", **options)


def film_field(**options: Any) -> ReadField:
    """The thickness of a film, such as “1.6 mm” or “⅛ in”, in mm to a hundredth."""
    options.setdefault("hint", "Such as 1.6 mm or ⅛ in.")
    return ReadField(
        lambda text: round(parse_length(text, default_unit="mm"), 2),
        writer=lambda length_mm: f"{trimmed(length_mm)} mm",
        **options,
    )


def temperature_field(
    studio: Studio, *, least: Decimal | int, most: Decimal | int, **options: Any
) -> ReadField:
    """A temperature in °C, typed and shown in the studio's unit; ``least`` and ``most`` in °C."""
    unit = studio.temperature_unit
    options.setdefault("hint", f"Such as {format_temperature(Decimal(21), unit)}.")

    def write(temperature_c: Decimal) -> str:
        return format_temperature(temperature_c, unit)

    def read(text: str) -> Decimal:
        temperature_c = parse_temperature(text, unit)
        if not least <= temperature_c <= most:
            ends = " to ".join(write(Decimal(end)) for end in (least, most))
            raise UnitsError(f"Give a temperature from {ends}.")
        return temperature_c

    return ReadField(read, writer=write, **options)


class MoneyField(ReadField):
    """An amount of money; one that is filled in is written so that it can be read back."""

    def __init__(self, currency: str, **options: Any) -> None:
        super().__init__(partial(parse_money, currency=currency), inputmode="decimal", **options)
        self.currency = currency

    def prepare_value(self, value: Any) -> Any:
        return f"{to_payable(value, self.currency):f}" if isinstance(value, Decimal) else value


def money_field(studio: Studio, **options: Any) -> MoneyField:
    """An amount of money, in the studio's currency unless ``currency`` names another."""
    return MoneyField(options.pop("currency", studio.currency), **options)


class PercentField(forms.DecimalField):
    """A percentage typed as such (35), kept as a share of one (0.35)."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("min_value", Decimal(0))
        options.setdefault("max_value", Decimal(100))
        super().__init__(max_digits=6, decimal_places=2, **options)

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, Decimal):
            return f"{(value * 100).normalize():f}"
        return value

    def clean(self, value: Any) -> Decimal | None:
        percent = super().clean(value)
        return None if percent is None else percent / 100


class DayField(forms.DateField):
    """A date within the years that a studio's work can lie in."""

    default_validators = [validate_day]

    def __init__(self, **options: Any) -> None:
        ends = {"min": f"{FIRST_DAY:%Y-%m-%d}", "max": f"{LAST_DAY:%Y-%m-%d}"}
        options.setdefault("widget", forms.DateInput(attrs={"type": "date", **ends}))
        super().__init__(**options)


class PastMomentField(forms.DateTimeField):
    """A day and hour that has come, on the studio's wall clock."""

    def __init__(self, **options: Any) -> None:
        ends = {"min": f"{FIRST_DAY:%Y-%m-%d}T00:00", "max": f"{LAST_DAY:%Y-%m-%d}T23:59"}
        attrs = {"type": "datetime-local", **ends}
        widget = forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs=attrs)
        options.setdefault("widget", widget)
        super().__init__(**options)

    def clean(self, value: Any) -> datetime | None:
        moment: datetime | None = super().clean(value)
        if moment is None:
            return None
        validate_day(moment.date())
        if moment > timezone.now():
            raise forms.ValidationError("Choose a time that has come.", code="future")
        return moment


CHOOSE_AGAIN = "Choose them again: a browser does not keep them."


class ManyFiles(forms.FileInput):
    """An input that takes several files at once."""

    allow_multiple_selected = True


class PicturesField(forms.FileField):
    """One or several pictures, each made ready to keep; a list of `studio.pictures.Prepared`."""

    def __init__(self, *, most: int, **options: Any) -> None:
        self.most = most
        # Named one by one, so that a phone turns its own kind into one of these.
        kinds = {"accept": "image/jpeg,image/png,image/webp"}
        options.setdefault("help_text", "JPEG, PNG or WebP, up to 15 MB each.")
        super().__init__(widget=ManyFiles(attrs=kinds), **options)

    def has_changed(self, initial: Any, data: Any) -> bool:
        return any(data or ())  # an empty list of files is nothing that was sent

    def clean(self, data: Any, initial: Any = None) -> list[Prepared]:
        files = [file for file in data or () if file]
        if not files:
            super().clean(None)
        if len(files) > self.most:
            raise forms.ValidationError(
                f"Choose at most {self.most} pictures at once.", code="many"
            )
        pictures, wrong = [], []
        for file in files:
            try:
                pictures.append(prepare_upload(file))
            except PictureError as error:
                wrong.append(f"{file.name}: {error}" if len(files) > 1 else str(error))
        if wrong:
            raise forms.ValidationError(wrong, code="picture")
        return pictures


def prepare_upload(file: UploadedFile) -> Prepared:
    """Return `Prepared` for an uploaded file, of which no more is read than may be taken."""
    file.seek(0)
    return prepare(file.read(MOST_BYTES + 1))
