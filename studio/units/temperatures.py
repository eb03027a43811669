"""Temperatures, read in either unit and written in the one that a studio uses."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from studio.units.numerals import UnitsError, as_decimal, exact_decimal, plain_text, trimmed
from studio.units.readings import readings

# How each is written, and its words as they are read.
UNITS = {"c": "°C", "f": "°F"}
WORDS = {
    "c": ("c", "celsius", "centigrade", "degrees c", "degrees celsius"),
    "f": ("f", "fahrenheit", "degrees f", "degrees fahrenheit"),
}
PLAIN = ("", "degree", "degrees")
# Half a tenth of a °C: so far from a whole °F lies the tenth of a °C that it was read to, [°F].
HALF_A_TENTH = Decimal("0.09")
HINT = "a temperature such as 21 °C or 70 °F"


def temperature_unit(measures: str) -> str:
    """Return the unit of temperature of a studio by its spoons and cups.

    Parameters
    ----------
    measures : str
        ``"us"``, ``"metric"``, ``"au"`` or ``"imperial"``, [-]

    Returns
    -------
    unit : str
        ``"f"`` with US measures, else ``"c"``, [-]

    Examples
    --------
    >>> temperature_unit("us"), temperature_unit("imperial")
    ('f', 'c')
    """
    return "f" if measures == "us" else "c"


def parse_temperature(text: str, unit: str) -> Decimal:
    """Read a temperature.

    Parameters
    ----------
    text : str
        A number, alone or with its unit; below zero with a minus, [-]
    unit : str
        Unit of a plain number, ``"c"`` or ``"f"``, [-]

    Returns
    -------
    temperature_c : Decimal
        Temperature to a tenth of a degree, [°C]

    Raises
    ------
    UnitsError
        If the text is not one temperature from -100 to 500 °C.

    Examples
    --------
    >>> parse_temperature("70", "f"), parse_temperature("21.5 °C", "f")
    (Decimal('21.1'), Decimal('21.5'))

    References
    ----------
    NIST Special Publication 811, B.8: t/°C = (t/°F - 32)/1.8.
    """
    bare = text.replace("°", " ").replace("º", " ") if isinstance(text, str) else text
    plain = plain_text(bare, HINT).strip()
    below = plain.startswith(("-", "minus "))
    plain = plain.removeprefix("minus ").removeprefix("-")
    pairs = readings(plain, HINT)
    if len(pairs) != 1:
        raise UnitsError(f"Write one temperature: {HINT}.")
    number, words = pairs[0]
    asked = next((one for one, known in WORDS.items() if words in known), "")
    asked = unit if words in PLAIN else asked
    if not asked:
        raise UnitsError(f"That is no unit of temperature; write {HINT}.")
    value = -number if below else number
    celsius = value if asked == "c" else (value - 32) / Fraction(9, 5)
    if not -100 <= celsius <= 500:
        raise UnitsError(f"A temperature must be between -100 and 500 °C; write {HINT}.")
    return exact_decimal(celsius).quantize(Decimal("0.1"), ROUND_HALF_UP)


def format_temperature(temperature_c: Decimal | float, unit: str) -> str:
    """Write a temperature in one unit.

    Parameters
    ----------
    temperature_c : Decimal, int or float
        Temperature, [°C]
    unit : str
        ``"c"`` or ``"f"``, [-]

    Returns
    -------
    text : str
        To a tenth of a degree, or the whole °F that is meant by such a tenth of a °C, with its
        unit; read again it is the same tenth of a °C, [-]

    Raises
    ------
    UnitsError
        If it is not a finite number.

    Examples
    --------
    >>> format_temperature(Decimal("18.3"), "f"), format_temperature(21, "c")
    ('65 °F', '21 °C')

    References
    ----------
    NIST Special Publication 811, B.8: t/°C = (t/°F - 32)/1.8.
    """
    number = as_decimal(temperature_c, "A temperature")
    if unit == "f":
        number = number * Decimal("1.8") + 32
    whole = number.quantize(Decimal(1), ROUND_HALF_UP)
    meant = unit == "f" and abs(number - whole) <= HALF_A_TENTH
    number = whole if meant else number.quantize(Decimal("0.1"), ROUND_HALF_UP)
    sign = "−" if number < 0 else ""
    return f"{sign}{trimmed(abs(number))} {UNITS[unit]}"


def degrees(*temperatures_c: Decimal | float) -> str:
    """Write a temperature, or from one to another, for readers of either unit.

    Sentences that many people read, such as those on the card that goes with a piece, say both.

    Parameters
    ----------
    temperatures_c : Decimal, int or float
        One, or the lower and the upper end, [°C]

    Returns
    -------
    text : str
        As it is in °C, and to the whole degree in °F, [-]

    Raises
    ------
    UnitsError
        If one is not a finite number.

    Examples
    --------
    >>> degrees(Decimal("90.0")), degrees(18, 24)
    ('90 °C (194 °F)', '18 to 24 °C (64 to 75 °F)')

    References
    ----------
    NIST Special Publication 811, B.8: t/°C = (t/°F - 32)/1.8.
    """
    numbers = [as_decimal(one, "A temperature") for one in temperatures_c]
    fahrenheit = [
        (one * Decimal("1.8") + 32).quantize(Decimal(1), ROUND_HALF_UP) for one in numbers
    ]
    return f"{_ends(numbers)} °C ({_ends(fahrenheit)} °F)"


def _ends(numbers: list[Decimal]) -> str:
    return " to ".join(("−" if one < 0 else "") + trimmed(abs(one)) for one in numbers)
