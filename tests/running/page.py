"""The commands of docs/running.md, as they stand there."""

import re
from pathlib import Path

CHECKOUT = Path(__file__).parent.parent.parent
TEXT = (CHECKOUT / "docs/running.md").read_text(encoding="utf-8")
FIRST = "Running it for real"


def parts():
    """Return {heading: text} of the page."""
    found = re.split(r"^#+ (.+)$", TEXT, flags=re.M)[1:]
    return dict(zip(found[::2], found[1::2], strict=True))


def commands(heading):
    """Return the lines to type of a part."""
    blocks = re.findall(r"^```\n(.*?)^```$", parts()[heading], re.M | re.S)
    return [line for block in blocks for line in block.splitlines()]
