"""Words of the trade that stay on pages, and what they mean, told where they stand.

Each app adds its own, from the `terms.py` beside its addresses, as it is ready.
"""

from itertools import count

# By the word in small letters.
terms: dict[str, str] = {}
numbers = count(1)  # so that no two explanations of a page share an id


def meaning(label: str) -> str:
    """Return what a label such as “Margin (%)” means; empty where it is no word of the trade."""
    return terms.get(label.partition(" (")[0].lower(), "")
