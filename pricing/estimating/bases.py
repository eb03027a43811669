"""What is poured over: a thin or a flooded base, where a technique makes two pours of that."""

from pricing.models import Technique
from pricing.techniques import facts_of


def base_problem(technique: Technique, base: str) -> str:
    """Return the sentence that refuses a base that a technique does not have, or nothing."""
    if not base or base in facts_of(technique.slug).bases:
        return ""
    return f"A {technique.name.lower()} has one kind of base only. Leave it out."
