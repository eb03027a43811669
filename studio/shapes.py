"""The shapes of stored JSON: what a value must look like before anything is made from it.

A shape is a function that takes a value and the place where it stands, and raises
`ValidationError` in a sentence that names the place. What is written by the program itself always
fits; an archive may hold anything.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, NoReturn

from django.core.exceptions import ValidationError

from studio.dates import SENTENCE, is_within
from studio.text import shortened

Shape = Callable[[Any, str], None]
# A division leaves 28 digits; twelve before the point are more than any studio has.
NUMBER = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,40})?")
LARGEST_WHOLE = 10**15
LONGEST_TEXT = 20_000


def text(value: Any, at: str) -> None:
    """Some text; that it is clean is the field's own rule."""
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        _refuse(at, f"must be text of at most {LONGEST_TEXT:,} characters")


def yes_or_no(value: Any, at: str) -> None:
    """True or false."""
    if not isinstance(value, bool):
        _refuse(at, "must be true or false")


def number(value: Any, at: str) -> None:
    """A decimal, written as text so that it comes back as it went in."""
    if not isinstance(value, str) or not NUMBER.fullmatch(value):
        _refuse(at, "must be a plain number, written as text")


def not_negative(value: Any, at: str) -> None:
    """Such a number from 0 on."""
    number(value, at)
    if Decimal(value) < 0:
        _refuse(at, "must not be below 0")


def above_zero(value: Any, at: str) -> None:
    """Such a number above 0."""
    number(value, at)
    if Decimal(value) <= 0:
        _refuse(at, "must be above 0")


def day(value: Any, at: str) -> None:
    """A day as ISO 8601 has it."""
    try:
        found = date.fromisoformat(value) if len(value) == len("2026-05-31") else None
    except (TypeError, ValueError):
        found = None
    if found is None:
        _refuse(at, "must be a date such as 2026-05-31")
    if not is_within(found):
        _refuse(at, f"is no day of a studio's work. {SENTENCE}", "")


def whole(least: int = 0, most: int = LARGEST_WHOLE) -> Shape:
    """A whole number within bounds."""

    def check(value: Any, at: str) -> None:
        if type(value) is not int or not least <= value <= most:
            _refuse(at, f"must be a whole number from {least:,} to {most:,}")

    return check


def one_of(values: Iterable[str]) -> Shape:
    """One of some texts."""
    known = frozenset(values)

    def check(value: Any, at: str) -> None:
        if not isinstance(value, str) or value not in known:
            _refuse(at, f"must be one of: {', '.join(sorted(known))}")

    return check


def either(*shapes: Shape) -> Shape:
    """Whatever fits one of some shapes; the last says what is wrong."""

    def check(value: Any, at: str) -> None:
        for shape in shapes[:-1]:
            try:
                return shape(value, at)
            except ValidationError:
                continue
        return shapes[-1](value, at)

    return check


def null(value: Any, at: str) -> None:
    """Null, for what there is none of."""
    if value is not None:
        _refuse(at, "must be null")


def no_text(value: Any, at: str) -> None:
    """An empty text."""
    if value != "":
        _refuse(at, "must be empty")


def checked_by(validate: Callable[[str], None]) -> Shape:
    """A text that a validator of the models takes."""

    def check(value: Any, at: str) -> None:
        text(value, at)
        try:
            validate(value)
        except ValidationError as error:
            _refuse(at, f"cannot be read. {error.messages[0]}", "")

    return check


def list_of(shape: Shape, most: int = 1_000) -> Shape:
    """A list of things alike."""

    def check(value: Any, at: str) -> None:
        if not isinstance(value, list) or len(value) > most:
            _refuse(at, f"must be a list of at most {most:,}")
        for place, one in enumerate(value, 1):
            shape(one, f"{at}, {place}" if at else str(place))

    return check


def row_of(*shapes: Shape) -> Shape:
    """A list of so many things, each with a shape of its own."""

    def check(value: Any, at: str) -> None:
        if not isinstance(value, list) or len(value) != len(shapes):
            _refuse(at, f"must be a list of {len(shapes)}")
        for place, (shape, one) in enumerate(zip(shapes, value, strict=True), 1):
            shape(one, f"{at}, {place}")

    return check


def record(needed: Mapping[str, Shape], optional: Mapping[str, Shape] | None = None) -> Shape:
    """An object with some names, and perhaps others, but no more."""
    known = {**needed, **(optional or {})}

    def check(value: Any, at: str) -> None:
        if not isinstance(value, dict):
            _refuse(at, "must be an object")
        for name in value:
            if name not in known:
                _refuse(at, f"has a part “{shortened(name, 40)}” that is not known")
        for name in needed:
            if name not in value:
                _refuse(at, f"lacks its part “{name}”")
        for name, one in value.items():
            known[name](one, f"{at}, {name}" if at else name)

    return check


def _refuse(at: str, what: str, end: str = ".") -> NoReturn:
    raise ValidationError(f"{at or 'It'} {what}{end}", code="shape")
