"""Prices as they stand in sheets, in the studio's money."""

import re
from decimal import Decimal

from inventory.stock.sheets.amounts import Measure, Ways, read_measure
from inventory.stock.sheets.doubts import CellDoubtful, CellWrong, SheetAsked, shown
from inventory.stock.sheets.numbers import plain_numbers
from inventory.stock.sheets.words import NOTHING_SAID, plain_words
from studio.money import MINOR_UNITS, MoneyError, parse_money

PLAIN = re.compile(r"\d++(?:\.\d++)?+")
EACH = re.compile(r"(?:each|ea|apiece|st(?:uc|ü)?k|p\.?p\.?|a piece)\.?$")
PER = re.compile(
    r"(?:^|\s)(?:per|pro|par|por|je|a|the|/)\s*+([a-z]+(?: oz)?)(?:\s|$)|/\s*+([a-z]+)"
)
BELOW = re.compile(r"[-−(]\s*+[^\d\s]{0,3}\s*+\d")
SIGNS = frozenset("€$£¥₹₩₽₺₴₪") | {"fr", "chf", "kr", "zł", "kc", "ft"}
LONGEST = 40
DIGITS = 12


def read_price(text: str, currency: str, decimals: str) -> Decimal | None:
    """Read an amount of a currency; None where the cell says nothing.

    >>> read_price("1 234,56 €", "EUR", ""), read_price("$ 4", "USD", "")
    (Decimal('1234.56'), Decimal('4'))
    """
    if len(text) > LONGEST:
        raise CellWrong("This is too long for a price. Write it such as 12.50.")
    plain = " ".join(plain_words(text).split())
    if plain in NOTHING_SAID or plain == "?":
        return None
    if BELOW.match(plain):
        raise CellWrong(f"“{shown(text)}” is below nothing. Write what it costs.")
    plain = EACH.sub("", plain_numbers(plain, decimals)).strip()
    number = PLAIN.search(plain)
    if number is None or PLAIN.search(plain, number.end()):
        raise CellWrong(f"“{shown(text)}” is not a price. Write it such as 12.50.")
    if len(number[0]) > DIGITS:
        raise CellWrong(f"“{shown(text)}” is too much for a price. Write it such as 12.50.")
    sign = (plain[: number.start()] + plain[number.end() :]).strip(" .,-")
    if sign:
        _check_sign(sign, text, currency)
    return Decimal(number[0])


def _check_sign(sign: str, text: str, currency: str) -> None:
    """Refuse words that are no money, and ask where they are another money than the studio's."""
    try:
        parse_money(f"1 {sign.upper()}", currency)
    except MoneyError:
        if sign in SIGNS or sign.upper() in MINOR_UNITS:
            if sign == "fr" and currency == "CHF":
                return
            raise CellDoubtful(
                f"“{shown(text)}” is not in {currency}. What was it in {currency}?"
            ) from None
        raise CellWrong(f"“{shown(text)}” is not a price. Write it such as 12.50.") from None


def priced_by(heading: str, ways: Ways) -> Measure | None:
    """Return what a heading says that its prices are for, such as a litre; None where it does not.

    >>> priced_by("Price per litre", Ways()).whole
    Fraction(1000, 1)
    """
    for found in PER.finditer(plain_words(heading[:LONGEST])):
        try:
            measure = read_measure(f"1 {found[1] or found[2]}", ways)
        except (CellDoubtful, CellWrong, SheetAsked):
            continue
        if measure and measure.unit in ("ml", "g"):
            return measure
    return None
