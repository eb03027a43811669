"""What a resin kit must say before it is kept, and before anything is coated with it."""

from pricing.errors import RatioNotRead
from pricing.models import ResinKit
from pricing.models.topcoat import RATIO

# What stands on a label as two ends, by the field that a refusal is told at.
ENDS = {
    "recoat_to_hours": ("recoat_from_hours", "the next coat", "hours"),
    "room_to_c": ("room_from_c", "the room", "°C"),
}


def kit_problems(kit: ResinKit) -> dict[str, str]:
    """Return {field: sentence} of what keeps a kit from being written down, nothing if it may be.

    Its ratio is given whole or not at all, and once given it is changed but not emptied, so that
    nothing that is planned with the kit loses it. What has two ends is given from one to the other.
    """
    problems = {}
    if any(getattr(kit, name) for name in RATIO) and not kit.has_ratio:
        problems["ratio_a"] = "Give the parts of A, the parts of B and what they are of, or none."
    elif kit.pk and not kit.has_ratio and _had_ratio(kit):
        problems["ratio_a"] = "A ratio that was given may be changed, but not left empty."
    for name, (start, words, unit) in ENDS.items():
        least, most = getattr(kit, start), getattr(kit, name)
        if (least is None) != (most is None):
            problems[name] = f"Give both ends of {words}, in {unit}, or neither."
        elif least is not None and most is not None and least > most:
            problems[name] = f"The end of {words} lies before its start. Change one of them."
    return problems


def topcoat_problem(kit: ResinKit | None) -> str:
    """Return the sentence that refuses a kit for a topcoat, or nothing."""
    if kit is None or kit.has_ratio:
        return ""
    return (
        f"The ratio of {kit} is not yet checked, and it is never guessed. Read it off the label "
        "and give it, by volume or by weight, with the kit."
    )


def refuse_without_ratio(kit: ResinKit | None) -> None:
    """Raise `RatioNotRead` for a kit whose ratio nobody has read."""
    if problem := topcoat_problem(kit):
        raise RatioNotRead(problem)


def _had_ratio(kit: ResinKit) -> bool:
    return ResinKit.objects.filter(pk=kit.pk).exclude(basis="").exists()
