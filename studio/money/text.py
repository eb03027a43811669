"""Amounts of money as text: written through CLDR, and read back tolerantly."""

import re
import unicodedata
from collections.abc import Sequence
from copy import copy
from decimal import Decimal

from babel import Locale, UnknownLocaleError
from babel.numbers import get_currency_symbol, get_decimal_symbol

from studio.money.rounding import LARGEST, MoneyError, minor_places, rounded
from studio.units.numerals import ascii_character, quoted

# Signs that people write at home and that English texts do not use.
LOCAL_SIGNS = {
    "CZK": "Kč",
    "DKK": "kr",
    "HUF": "Ft",
    "ISK": "kr",
    "NOK": "kr",
    "PLN": "zł",
    "SEK": "kr",
    "ZAR": "R",
}
FULL_WIDTH_SIGNS = {"￡": "£", "￥": "¥", "￦": "₩"}

LONGEST_TEXT = 40


def _locale(name: str) -> Locale:
    try:
        return Locale.parse(str(name).replace("-", "_"))
    except (ValueError, UnknownLocaleError):
        raise MoneyError("That locale is not known; give one such as en_GB or de_DE.") from None


def format_money(
    amount: Decimal | int, currency: str, locale: str, places: int | None = None
) -> str:
    """Write an amount with its currency as people of a locale do.

    Parameters
    ----------
    amount : Decimal or int
        Amount, [currency]
    currency : str
        ISO 4217 code, [-]
    locale : str
        CLDR locale, such as ``"en_GB"``, [-]
    places : int, optional
        Decimals to show in place of the currency's own, for a cost by the mL, [-]

    Returns
    -------
    text : str
        The amount rounded half up, with sign, grouping and decimals, [-]

    Raises
    ------
    MoneyError
        If the amount is not a number, or the currency or the locale is not known.

    Examples
    --------
    >>> format_money(Decimal("1234.5"), "USD", "en_US")
    '$1,234.50'
    >>> format_money(Decimal("0.0213"), "EUR", "en_IE", places=4)
    '€0.0213'

    References
    ----------
    Unicode CLDR, through Babel.
    """
    own = minor_places(currency)
    places = own if places is None else places
    cldr_locale = _locale(locale)
    pattern = copy(cldr_locale.currency_formats["standard"])
    pattern.frac_prec = (places, places)
    text: str = pattern.apply(
        rounded(amount, places), cldr_locale, currency=currency, currency_digits=False
    )
    return text


def parse_money(text: str, currency: str, locale: str | None = None) -> Decimal:
    """Read an amount that somebody typed.

    Parameters
    ----------
    text : str
        Digits, with or without grouping, decimals and the currency's sign or code, [-]
    currency : str
        ISO 4217 code of the currency expected, [-]
    locale : str, optional
        CLDR locale that decides whether ``1.234`` has decimals; without it that is refused, [-]

    Returns
    -------
    amount : Decimal
        Zero to just under 1,000,000,000, [currency]

    Raises
    ------
    MoneyError
        If the text is not one such amount, has more decimals than the currency, names another
        currency, or could mean two amounts.

    Examples
    --------
    >>> parse_money("1,234.50", "USD"), parse_money("1.234,50 €", "EUR")
    (Decimal('1234.50'), Decimal('1234.50'))
    """
    places = minor_places(currency)
    hint = f"write an amount such as {_example(places)}"
    if not isinstance(text, str) or not text.strip():
        raise MoneyError(f"Nothing was given; {hint}.")
    if len(text) > LONGEST_TEXT:
        raise MoneyError(f"That is longer than {LONGEST_TEXT} characters; {hint}.")
    plain = _plain(text)
    if "-" in plain or plain.startswith("("):
        raise MoneyError(f"An amount of money cannot be negative here; {hint}.")
    number = _without_signs(plain, _signs(currency, locale))
    if not re.fullmatch(r"[.,]?\d(?:[\d.,' ]*\d)?", number, re.ASCII):
        raise MoneyError(f"{quoted(text)} is not an amount of money in {currency}; {hint}.")
    amount = Decimal(_digits(number, places, locale, hint))
    if amount >= LARGEST:
        raise MoneyError(f"An amount of money must be under {LARGEST:,}; {hint}.")
    return amount


def _example(places: int) -> str:
    return f"{Decimal(1234).quantize(Decimal(1).scaleb(-places))}"


def _signs(currency: str, locale: str | None) -> list[str]:
    """Return how a currency may be written beside an amount, the longest first."""
    english = get_currency_symbol(currency, "en")
    signs = {currency, currency.lower(), english, LOCAL_SIGNS.get(currency, currency)}
    signs.add(english.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ") or currency)  # A$ is $ at home
    if locale:
        signs.add(get_currency_symbol(currency, _locale(locale)))
    return sorted({_plain(sign) for sign in signs}, key=len, reverse=True)


def _without_signs(plain: str, signs: Sequence[str]) -> str:
    """Take the longest of the signs off each end, and the full stop of an abbreviated one."""
    before = next((sign for sign in signs if plain.startswith(sign)), "")
    plain = plain[len(before) :]
    for sign in signs:
        for ending in (f"{sign}.", sign):
            if plain.endswith(ending):
                return plain.removesuffix(ending).strip()
    return plain.strip()


def _plain(text: str) -> str:
    """Return text with its digits, marks and spaces in ASCII, and no direction marks."""
    visible = (character for character in text if unicodedata.category(character) != "Cf")
    return "".join(
        ascii_character(character) or FULL_WIDTH_SIGNS.get(character, character)
        for character in visible
    ).strip()


def _digits(number: str, places: int, locale: str | None, hint: str) -> str:
    """Return the number with no grouping and a decimal point, or refuse it."""
    marks = re.findall(r"[.,' ]", number)
    if not marks:
        return number
    last = marks[-1]
    grouped = last in "' " or marks[1:] == marks[:-1] != []
    if re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", number):
        grouped = _groups(number, last, places, locale)
    whole, decimals = (number, "") if grouped else number.rsplit(last, 1)
    if not re.fullmatch(r"\d*|\d{1,3}([.,' ])(\d{2,3}\1)*\d{3}", whole):
        raise MoneyError(f"{quoted(number)} is grouped in an unusual way; {hint}.")
    if len(decimals) > places:
        raise MoneyError(f"{quoted(number)} has more than {places} decimals; {hint}.")
    whole = re.sub(r"\D", "", whole) or "0"
    return f"{whole}.{decimals}" if decimals else whole


def _groups(number: str, mark: str, places: int, locale: str | None) -> bool:
    """Say whether the one mark in a number such as 1,234 groups thousands."""
    if locale:
        return mark != get_decimal_symbol(_locale(locale))
    if mark == "," and places < 3:
        return True  # read as decimals it would have more than the currency
    if mark == "." and places == 3:
        return False
    whole, decimals = number.split(mark)
    raise MoneyError(
        f"{quoted(number)} could be {whole}{decimals} or {whole}.{decimals}; "
        f"write it like {_example(places)}."
    )
