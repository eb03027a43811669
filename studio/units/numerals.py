"""Numbers as people write them: split into tokens and read exactly, never evaluated."""

import re
import unicodedata
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal, InvalidOperation
from fractions import Fraction

LONGEST_TEXT = 60

EXACT = Context(prec=28, rounding=ROUND_HALF_EVEN)

GLYPHS = {
    Fraction(1, 8): "⅛",
    Fraction(1, 4): "¼",
    Fraction(1, 3): "⅓",
    Fraction(3, 8): "⅜",
    Fraction(1, 2): "½",
    Fraction(5, 8): "⅝",
    Fraction(2, 3): "⅔",
    Fraction(3, 4): "¾",
    Fraction(7, 8): "⅞",
}
READABLE = {glyph: f" {value} " for value, glyph in GLYPHS.items()} | {
    "⅕": " 1/5 ",
    "⅖": " 2/5 ",
    "⅗": " 3/5 ",
    "⅘": " 4/5 ",
    "⅙": " 1/6 ",
    "⅚": " 5/6 ",
    "×": "x",
    "✕": "x",
    "⨯": "x",
    "*": "x",
    "⁄": "/",
    "∕": "/",
    "÷": "/",
    "″": '"',
    "“": '"',
    "”": '"',
    "′": "'",
    "‘": "'",
    "’": "'",
    "−": "-",
    "–": "-",
    "—": "-",
    "µ": "u",
    "μ": "u",
    "Ø": " round ",
    "ø": " round ",
    "⌀": " round ",
    "\t": " ",
}

NUMBER = r"\d+(?:[.,]\d+)*|[.,]\d+"
TOKEN = re.compile(
    rf"""\s*(?:
        (?P<whole>\d++)(?:\s*+-\s*+|\s++)(?P<top>\d++)\s*+/\s*+(?P<bottom>\d++)
      | (?P<numerator>\d++)\s*+/\s*+(?P<denominator>\d++)
      | (?P<number>{NUMBER})
      | (?P<word>[a-z]+|["'])\.?
      | (?P<comma>,)(?=\s)
    )""",
    re.VERBOSE,
)


class UnitsError(ValueError):
    """Raised when a quantity cannot be read; its text is one sentence saying what is accepted."""


def quoted(text: str) -> str:
    """Return what was typed, cut short and safe to print, in quotation marks."""
    printable = "".join(character if character.isprintable() else "?" for character in text.strip())
    return f"“{printable[:24]}…”" if len(printable) > 25 else f"“{printable}”"


def ascii_character(character: str) -> str | None:
    """Return the plain form of one character, or None when it has none.

    Compatibility forms are not folded wholesale: that would read 5² as 52, and 1½ as 11/2.
    """
    if character in READABLE:
        return READABLE[character]
    if " " <= character <= "~":
        return character
    if "\uff01" <= character <= "\uff5e":  # full-width forms sit at a fixed distance from ASCII
        return chr(ord(character) - 0xFEE0)
    category = unicodedata.category(character)
    if category == "Nd":
        return str(unicodedata.decimal(character))
    return " " if category == "Zs" else None


def plain_text(text: str, hint: str) -> str:
    """Return typed text in lower-case ASCII, or refuse it with a sentence that ends in `hint`."""
    if not isinstance(text, str) or not text.strip():
        raise UnitsError(f"Nothing was given; write {hint}.")
    if len(text) > LONGEST_TEXT:
        raise UnitsError(f"That is longer than {LONGEST_TEXT} characters; write {hint}.")
    characters = []
    for character in text:
        ascii_form = ascii_character(character)
        if ascii_form is None:
            raise UnitsError(
                f"The character {quoted(character)} cannot be read here; write {hint}."
            )
        characters.append(ascii_form)
    plain = "".join(characters).lower().replace("''", '"')
    if re.search(r"\d\s*+e\s*+[+-]?+\s*+\d", plain):
        raise UnitsError(f"Write the number out in full, without an exponent: {hint}.")
    return plain


def read_number(token: str) -> Fraction:
    """Read digits with a decimal point or comma into a Fraction; refuse what could be two numbers.

    >>> read_number("1,5")
    Fraction(3, 2)
    """
    if re.fullmatch(r"\d+|\d*\.\d+", token):
        return Fraction(token)
    if re.fullmatch(r"[1-9]\d{0,2}(,\d{3})+\.\d+|[1-9]\d{0,2}(,\d{3}){2,}", token):
        return Fraction(token.replace(",", ""))
    if re.fullmatch(r"[1-9]\d{0,2}(\.\d{3})+,\d+|[1-9]\d{0,2}(\.\d{3}){2,}", token):
        return Fraction(token.replace(".", "").replace(",", "."))
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", token):
        whole, part = token.split(",")
        raise UnitsError(
            f"{quoted(token)} could be {whole}{part} or {whole}.{part}; write it without the comma."
        )
    if re.fullmatch(r"\d*,\d+", token):
        return Fraction(token.replace(",", "."))
    raise UnitsError(f"{quoted(token)} is not a number; write it like 1250 or 1.5.")


def read_fraction(whole: str, top: str, bottom: str) -> Fraction:
    """Read a whole number and a proper fraction of it, given as digits."""
    if int(bottom) == 0 or int(top) >= int(bottom):
        raise UnitsError(
            f"{quoted(f'{top}/{bottom}')} is not a part of one; write fractions like 1/2 or 1 1/2."
        )
    return Fraction(int(whole)) + Fraction(int(top), int(bottom))


def tokens(plain: str, hint: str) -> list[Fraction | str]:
    """Split plain text into Fractions (numbers) and strings (words, quotation marks, commas)."""
    parts, position, plain = [], 0, plain.rstrip()
    while position < len(plain):
        match = TOKEN.match(plain, position)
        if match is None:
            rest = plain[position:].strip()
            if rest.startswith("-"):
                raise UnitsError(
                    f"Give one amount above zero, not a range or a negative number: {hint}."
                )
            raise UnitsError(f"{quoted(rest)} cannot be read here; write {hint}.")
        parts.append(_token(match))
        position = match.end()
    return parts


def _token(match: re.Match[str]) -> Fraction | str:
    if match["whole"]:
        return read_fraction(match["whole"], match["top"], match["bottom"])
    if match["numerator"]:
        return read_fraction("0", match["numerator"], match["denominator"])
    if match["number"]:
        return read_number(match["number"])
    return match["word"] or match["comma"]


def exact_decimal(value: Fraction) -> Decimal:
    """Return a Fraction as a Decimal: exact where it ends within 28 digits."""
    return EXACT.divide(Decimal(value.numerator), Decimal(value.denominator))


def as_decimal(value: Decimal | float, what: str) -> Decimal:
    """Return a finite Decimal from a Decimal, whole number or float, or refuse it."""
    try:
        number = value if isinstance(value, Decimal) else Decimal(str(value))
    except InvalidOperation:
        number = Decimal("nan")
    if not number.is_finite():
        raise UnitsError(f"{what} must be a plain number.")
    return number


def trimmed(number: Decimal) -> str:
    """Write a Decimal without an exponent or trailing zeros.

    >>> trimmed(Decimal("1.250E+3")), trimmed(Decimal("0.50"))
    ('1250', '0.5')
    """
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def significant(number: Decimal, digits: int) -> Decimal:
    """Round a Decimal, half up, to so many significant digits."""
    return Context(prec=digits, rounding=ROUND_HALF_UP).plus(number)


def mixed_number(value: Fraction) -> str:
    """Write a non-negative Fraction as a whole number and a part.

    >>> mixed_number(Fraction(3, 2)), mixed_number(Fraction(19, 16))
    ('1½', '1 3/16')
    """
    whole, part = divmod(value, 1)
    if not part:
        return str(whole)
    if part in GLYPHS:
        return f"{whole or ''}{GLYPHS[part]}"
    return f"{whole} {part}" if whole else str(part)
