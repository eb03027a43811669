"""What a piece of advice is."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite
from typing import Literal

from inventory.mixing.proportions.amounts import Number
from studio.units import degrees

NO_SOURCE = "common practice, no source"
PAINT_MAKERS = "paint makers' published guidance"
RESIN_MAKERS = "epoxy makers' published guidance"

Severity = Literal["fine", "note", "caution", "stop"]


class AdviceError(ValueError):
    """Raised when there is nothing sensible to judge; the text says what is accepted."""


@dataclass(frozen=True)
class Advice:
    """One thing checked: a sentence, what was computed and the limit, [`unit`], and the source.

    `severity` is "fine" within the limit, "note" where a limit is worth knowing though what is
    done is what was advised, "caution" past the limit, "stop" where going on would spoil the
    piece or could hurt someone. `limit` is None where there is no number to keep to, and
    `computed` where nothing is on record.
    """

    code: str
    sentence: str
    computed: float | None
    limit: float | None
    unit: str
    source: str
    severity: Severity

    @property
    def is_warning(self) -> bool:
        """Whether there is something to do about it."""
        return self.severity in ("caution", "stop")

    @property
    def is_note(self) -> bool:
        """Whether it is worth reading though there is no need to do anything."""
        return self.severity == "note"

    @property
    def behind(self) -> str:
        """What was worked out, the limit, and where the limit comes from, in words."""
        sentences = []
        if self.computed is not None:
            sentences.append(f"Worked out: {self._written(self.computed)}.")
        if self.limit is not None:
            sentences.append(f"Limit: {self._written(self.limit)}.")
        return " ".join([*sentences, f"Where it comes from: {self.source}."])

    def _written(self, value: float) -> str:
        if self.unit == "°C":
            return degrees(value)
        unit = "" if self.unit == "ratio" else self.unit
        return f"{value:.3g} {unit}".rstrip()


def warnings(findings: Iterable[Advice]) -> tuple[Advice, ...]:
    """Return what needs doing, the gravest first.

    Parameters
    ----------
    findings : iterable of Advice
        Everything that was checked, [-]

    Returns
    -------
    findings : tuple of Advice
        Those past their limit, in the order given within one severity, [-]

    Examples
    --------
    >>> warnings([])
    ()
    """
    past = [finding for finding in findings if finding.is_warning]
    return tuple(sorted(past, key=lambda finding: finding.severity != "stop"))


def number(value: Number, what: str, *, least: float = 0, above: bool = False) -> float:
    """Return a measured number as a float, refusing what cannot have been measured.

    Parameters
    ----------
    value : float or Decimal
        The number, [any unit]
    what : str
        What to call it in the refusal, as the start of a sentence, [-]
    least : float
        Smallest number accepted, [its unit]
    above : bool
        Whether the number must be more than `least`, [-]

    Returns
    -------
    value : float
        The same number, [its unit]

    Raises
    ------
    AdviceError
        If it is not a finite number in range.

    Examples
    --------
    >>> number(3, "A film")
    3.0
    """
    if not isfinite(value) or value < least or (above and value == least):
        bound = f"above {least:g}" if above else f"of at least {least:g}"
        raise AdviceError(f"{what} must be a number {bound}, not {value}.")
    return float(value)
