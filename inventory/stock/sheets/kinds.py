"""What kind of thing a name is, guessed by its words."""

import re

from inventory.stock.sheets.words import COLOUR_ENDS, COLOURS, KIND_WORDS, plain_words

LONGEST = 120  # characters of a name that are looked at
WORD = re.compile(r"[a-z]+|[a-z]*\d+")
PIGMENT = re.compile(r"\bp(?:bk|br|[wbygrvom])\d{1,3}\b")
_KINDS = tuple((kind, frozenset(words.split())) for kind, words in KIND_WORDS.items())


def guess_kind(name: str) -> str:
    """Return the kind that the words of a name tell, or nothing.

    Parameters
    ----------
    name : str
        Of a material, or of a group of them, in one of several languages, [-]

    Returns
    -------
    kind : str
        As `Material.Kind` has it, or an empty text, [-]

    Examples
    --------
    >>> guess_kind("Titanweiß"), guess_kind("Resin B"), guess_kind("Kitchen scale")
    ('paint', 'hardener', 'other')
    """
    plain = plain_words(name[:LONGEST])
    words = set(WORD.findall(plain)) | set(WORD.findall(plain.replace("-", "")))
    words |= {word.removesuffix("s") for word in words}
    found = {kind for kind, known in _KINDS if words & known}
    for kind in ("other", "packaging", "hardener", "resin"):
        if kind in found:
            is_second = "b" in words and "a" not in words  # a kit has both
            return "hardener" if kind == "resin" and is_second else kind
    for kind in ("surface", "conditioner", "medium", "additive", "water"):
        if kind in found:
            return kind
    is_colour = words & COLOURS or any(word.endswith(COLOUR_ENDS) for word in words)
    return "paint" if is_colour or PIGMENT.search(plain) or "paint" in found else ""
