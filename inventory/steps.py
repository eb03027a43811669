"""Prices and fees that fall in steps: as a person writes them, and as they are stored.

Stored are whole rows in their order, money as text to its last digit:
``[{"min_count": 6, "price": "8.50"}]``. Written is ``6 at 8.50; 12 at 7.90``.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Generic, TypeVar

from django.core.exceptions import ValidationError

from studio.money import ZERO, MoneyError, parse_money
from studio.text import shortened
from studio.units.numerals import trimmed

MOST_STEPS, MOST_PACKS = 8, 10_000
LONGEST_TEXT = 300
STEP = re.compile(r"(?:from\s)?([^:=]+?)(?:\bat\b|:|=)(.+)", re.IGNORECASE)
CENT = Decimal("0.01")


Reached = TypeVar("Reached", int, Decimal)


@dataclass(frozen=True)
class Steps(Generic[Reached]):
    """One kind of steps, such as price breaks: under which names a step stores when it begins and
    what it then costs, and how a person writes it."""

    reached: str
    price: str
    is_counted: bool
    example: str

    def read(self, text: str, currency: str) -> list[dict[str, Any]]:
        """Return what a person wrote as it is stored; raises `ValidationError` in a sentence."""
        if len(text) > LONGEST_TEXT:
            raise ValidationError(
                f"Write at most {LONGEST_TEXT} characters, such as {self.example}.", code="steps"
            )
        steps = []
        for part in filter(None, (one.strip() for one in re.split(r"[;\n]", text))):
            match = STEP.fullmatch(part)
            if match is None:
                raise ValidationError(
                    f"“{shortened(part, 40)}” cannot be read: write such as {self.example}.",
                    code="steps",
                )
            try:
                reached = self._reached(match[1].strip(), currency)
                price = parse_money(match[2], currency)
            except MoneyError as error:
                raise ValidationError(str(error), code="steps") from error
            steps.append({self.reached: reached, self.price: f"{price:f}"})
        return steps

    def _reached(self, text: str, currency: str) -> int | str:
        if not self.is_counted:
            return f"{parse_money(text, currency):f}"
        if not re.fullmatch(r"[0-9]{1,6}", text):
            raise ValidationError(
                f"“{shortened(text, 20)}” is not a number of packs: write such as {self.example}.",
                code="steps",
            )
        return int(text)

    def check(self, steps: Any) -> None:
        """Refuse what is not stored as these steps are, whoever wrote it."""
        if not isinstance(steps, list) or len(steps) > MOST_STEPS:
            raise ValidationError(f"At most {MOST_STEPS} steps are kept, as a list.", code="steps")
        for step in steps:
            if not isinstance(step, dict) or set(step) != {self.reached, self.price}:
                raise ValidationError(
                    f"Each step has “{self.reached}” and “{self.price}”.", code="steps"
                )
            is_whole = type(step[self.reached]) is int and 0 < step[self.reached] <= MOST_PACKS
            money = [step[self.price]] + ([] if self.is_counted else [step[self.reached]])
            if (self.is_counted and not is_whole) or not all(map(_is_money, money)):
                raise ValidationError(
                    "Steps are whole numbers of packs and amounts of money.", code="steps"
                )

    def written(self, steps: Any) -> str:
        """Return what is stored as a person writes it."""
        return "; ".join(
            f"{_plain(step[self.reached])} at {_plain(step[self.price])}" for step in steps or ()
        )

    def pairs(self, steps: Any) -> list[tuple[Reached, Decimal]]:
        """Return what is stored as pairs of numbers, money as `Decimal`."""
        return [
            (self._number(step[self.reached]), Decimal(step[self.price])) for step in steps or ()
        ]

    def _number(self, stored: Any) -> Reached:
        number: Any = stored if self.is_counted else Decimal(stored)
        return number

    def stored(self, pairs: Iterable[tuple[Reached, Decimal]]) -> list[dict[str, Any]]:
        """Return pairs of numbers as they are stored."""
        return [
            {self.reached: n if self.is_counted else f"{n:f}", self.price: f"{money:f}"}
            for n, money in pairs
        ]


PRICE_BREAKS: Steps[int] = Steps("min_count", "price", True, "6 at 8.50; 12 at 7.90")
SHIPPING_TIERS: Steps[Decimal] = Steps("goods_from", "fee", False, "30 at 4.50; 60 at 2.00")


def validate_breaks_shape(breaks: Any) -> None:
    """Refuse price breaks that are not stored as such."""
    PRICE_BREAKS.check(breaks)


def validate_tiers_shape(tiers: Any) -> None:
    """Refuse tiers of shipping that are not stored as such."""
    SHIPPING_TIERS.check(tiers)


def validate_price_breaks(breaks: Any, price: Decimal | None, minimum_count: int | None) -> None:
    """Refuse price breaks that do not rise in number and fall in price from those of the pack."""
    _validate(breaks, PRICE_BREAKS, (minimum_count or 1, price))
    if any(not break_price for _, break_price in PRICE_BREAKS.pairs(breaks)):
        raise ValidationError("A pack costs something at any number.", code="steps")


def validate_shipping_tiers(tiers: Any, fee: Decimal | None, free_over: Decimal | None) -> None:
    """Refuse tiers of shipping that do not rise in goods and fall in fee, or come after free."""
    _validate(tiers, SHIPPING_TIERS, (ZERO, fee))
    pairs = SHIPPING_TIERS.pairs(tiers)
    if pairs and free_over is not None and free_over <= pairs[-1][0]:
        raise ValidationError(
            f"Shipping is free from {_plain(free_over)} on, so no fee can follow at "
            f"{_plain(pairs[-1][0])}.",
            code="steps",
        )


def _validate(stored: Any, kind: Steps[Reached], before: tuple[Reached, Decimal | None]) -> None:
    kind.check(stored)
    if before[1] is None:
        return  # what stands before it is at fault, and said to be
    for reached, price in kind.pairs(stored):
        if reached <= before[0]:
            raise ValidationError(
                f"Each step begins above the one before: {_plain(reached)} does not come after "
                f"{_plain(before[0])}.",
                code="steps",
            )
        if price >= before[1]:
            raise ValidationError(
                f"Each step costs less than before: {_plain(price)} is not below "
                f"{_plain(before[1])}.",
                code="steps",
            )
        before = (reached, price)


def _is_money(text: object) -> bool:
    return isinstance(text, str) and bool(re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,3})?", text))


def _plain(number: Decimal | int | str) -> str:
    """Write a number without zeros that say nothing, money with cents."""
    number = Decimal(number)
    is_cents = number % 1 and number == round(number, 2)
    return f"{number.quantize(CENT):f}" if is_cents else trimmed(number)
