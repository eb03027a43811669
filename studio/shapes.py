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
    """Refuse what is not text; whether it is clean is for the field to check."""
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        _refuse(at, f"must be text of at most {LONGEST_TEXT:,} characters")


def yes_or_no(value: Any, at: str) -> None:
    """Refuse what is neither true nor false."""
    if not isinstance(value, bool):
        _refuse(at, "must be true or false")


def number(value: Any, at: str) -> None:
    """Refuse what is not a decimal number written as text, which comes back as it went in."""
    if not isinstance(value, str) or not NUMBER.fullmatch(value):
        _refuse(at, "must be a plain number, written as text")


def not_negative(value: Any, at: str) -> None:
    """Refuse what is not such a number, or below 0."""
    number(value, at)
    if Decimal(value) < 0:
        _refuse(at, "must not be below 0")


def above_zero(value: Any, at: str) -> None:
    """Refuse what is not such a number, or not above 0."""
    number(value, at)
    if Decimal(value) <= 0:
        _refuse(at, "must be above 0")


def day(value: Any, at: str) -> None:
    """Refuse what is not a date in ISO 8601 form within the years of a studio's work."""
    try:
        day_read = date.fromisoformat(value) if len(value) == len("2026-05-31") else None
    except (TypeError, ValueError):
        day_read = None
    if day_read is None:
        _refuse(at, "must be a date such as 2026-05-31")
    if not is_within(day_read):
        _refuse(at, f"is no day of a studio's work. {SENTENCE}", "")


def whole(least: int = 0, most: int = LARGEST_WHOLE) -> Shape:
    """Return the shape of a whole number within bounds."""

    def check(value: Any, at: str) -> None:
        if type(value) is not int or not least <= value <= most:
            _refuse(at, f"must be a whole number from {least:,} to {most:,}")

    return check


def one_of(values: Iterable[str]) -> Shape:
    """Return the shape of a text that is one of ``values``."""
    choices = frozenset(values)

    def check(value: Any, at: str) -> None:
        if not isinstance(value, str) or value not in choices:
            _refuse(at, f"must be one of: {', '.join(sorted(choices))}")

    return check


def either(*shapes: Shape) -> Shape:
    """Return a shape that takes what any of the shapes takes; the last one words the refusal."""

    def check(value: Any, at: str) -> None:
        for shape in shapes[:-1]:
            try:
                return shape(value, at)
            except ValidationError:
                continue
        return shapes[-1](value, at)

    return check


def null(value: Any, at: str) -> None:
    """Refuse what is not null."""
    if value is not None:
        _refuse(at, "must be null")


def no_text(value: Any, at: str) -> None:
    """Refuse what is not the empty text."""
    if value != "":
        _refuse(at, "must be empty")


def checked_by(validate: Callable[[str], None]) -> Shape:
    """Return the shape of a text that a validator of the models accepts."""

    def check(value: Any, at: str) -> None:
        text(value, at)
        try:
            validate(value)
        except ValidationError as error:
            _refuse(at, f"cannot be read. {error.messages[0]}", "")

    return check


def list_of(shape: Shape, most: int = 1_000) -> Shape:
    """Return the shape of a list whose items all have one shape."""

    def check(value: Any, at: str) -> None:
        if not isinstance(value, list) or len(value) > most:
            _refuse(at, f"must be a list of at most {most:,}")
        for place, one in enumerate(value, 1):
            shape(one, f"{at}, {place}" if at else str(place))

    return check


def row_of(*shapes: Shape) -> Shape:
    """Return the shape of a list with one item for each of the shapes, in order."""

    def check(value: Any, at: str) -> None:
        if not isinstance(value, list) or len(value) != len(shapes):
            _refuse(at, f"must be a list of {len(shapes)}")
        for place, (shape, one) in enumerate(zip(shapes, value, strict=True), 1):
            shape(one, f"{at}, {place}")

    return check


def record(needed: Mapping[str, Shape], optional: Mapping[str, Shape] | None = None) -> Shape:
    """Return the shape of an object that has the needed names, may have the optional ones, and no
    others."""
    shapes = {**needed, **(optional or {})}

    def check(value: Any, at: str) -> None:
        if not isinstance(value, dict):
            _refuse(at, "must be an object")
        for name in value:
            if name not in shapes:
                _refuse(at, f"has a part “{shortened(name, 40)}” that is not known")
        for name in needed:
            if name not in value:
                _refuse(at, f"lacks its part “{name}”")
        for name, one in value.items():
            shapes[name](one, f"{at}, {name}" if at else name)

    return check


def _refuse(at: str, what: str, end: str = ".") -> NoReturn:
    raise ValidationError(f"{at or 'It'} {what}{end}", code="shape")
