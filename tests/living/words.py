"""What people type: names, amounts and days as they should be, and as they should not be."""

from datetime import timedelta

import studio.charts

# The word that stands in the names of a studio's rows and in no other studio's.
MAIN, SECOND, NEIGHBOUR = "Larkmoss", "Tarnfield", "Gullrock"

COLOURS = (
    "Phthalo blue",
    "Quinacridone rose",
    "Yellow ochre",
    "Titanium white",
    "Carbon black",
    "Burnt umber",
    "Cobalt teal",
    "Naphthol red",
)
CUSTOMERS = ("Wren Alder", "Tamsin Reed", "Ode Marrow", "Pell Quince", "Ivo Thorne", "Sal Birch")
TITLES = ("Coasters", "A canvas for the hall", "Four trays", "Two of a kind", "Kitchen tiles")
REASONS = (
    "Skinned over",
    "Knocked over",
    "Mistaken",
    "Second thoughts",
    "For a class",
    "Typed twice",
)
# Odd, but what a person may paste: other scripts, combining marks, quotes, markup, formulas.
STRANGE = (
    "Ünïçødé × ½ – “quoted” ‘text’",
    "العربية مع English",
    "漢字とかな",
    "e\u0301\u0302\u0303 n\u0303 zalgo",
    "🎨🖌️👩‍🎨",
    "<b>bold</b> <script>alert(1)</script>",
    "=1+1",
    "{{ 7 * 7 }} {% now %}",
    "' OR 1=1; --",
    "Robert\\'; & &amp; \"",
    "a\tb",
    "\u00a0\u2003 spaces \u200b",
    "x" * 59,
    "x" * 5000,
    "ﬁ ligature ﬀ",
    "-0",
    "NaN",
    "%s %d {0}",
    "..\\../etc",
    "first\r\nsecond",
    "\u202eoverride",
    "ẞ ß İ ı",
)
# These end the process in the chart library, as long as that is what draws.
IF_CHARTS_STAND_IT = ("tab\u000bfeed", "bell\u0007", "\u001b[31m", "\ufffe", "\u0001", "nul\0")
if not hasattr(studio.charts, "alt"):
    STRANGE += IF_CHARTS_STAND_IT

STRANGE_NUMBERS = (
    *("0", "-1", "-0.0001", "0.00001", "1e3", "1E-7", "1e400", "NaN", "Infinity", "-Infinity"),
    *("999999999", "1000000000", "99999999999999999999", "0.1", "1/3", "½", "1 ½", "١٢", "１２"),
    *("12,5", "1.234,56", "1,234.56", "0x10", "1_000", "12 mL", "5 kg", "3 cups", "2 in", "", " "),
    *("12.", ".5", "+7", "--5", "5%", "$5", "5 €", "9" * 400),
)
STRANGE_DAYS = (
    *("0001-01-01", "1900-02-29", "9999-12-31", "2026-02-30", "2026-13-01", "31.12.2026"),
    *("12/31/2026", "yesterday", "", "2026-1-5", "1970-01-01", "2099-12-31", "20260305"),
)
STRANGE_SIZES = (
    *("4 in round", "30 cm ring, 20 cm hole", "20 × 14 cm oval", "6 in hexagon", "8x8x1.5in"),
    *("0 × 0 cm", "1 mm × 1 mm", "9999 × 9999 m", "8 by", "×", "8 × 8 × 8 × 8", "-4x4in"),
    *("10 × 10 parsec", "4¼ × 4¼ × ¼ in", "30 cm ring, 40 cm hole", "1e9 × 1e9 cm"),
)
OUTLINES = ("0,0 200,0 200,100", "M 0 0 H 200 V 100 Z", "0,0 1,1", "0,0 100,100 100,0 0,100", "M")


def amount(dice, low, high, places=2):
    """Return a plausible number as it is typed."""
    return f"{dice.uniform(low, high):.{places}f}"


def day(dice, today, back=0, ahead=0):
    """Return a day so near today, as a date field sends it."""
    return (today + timedelta(days=dice.randint(-back, ahead))).isoformat()


def plausible(dice, control, today, mark):
    """Return what somebody might well give a control; None leaves it as it is offered."""
    name, kind = control.name, control.type
    if kind in ("select", "radio"):
        return dice.choice(control.offered()) if control.offered() else None
    if kind in ("checkbox", "select-multiple"):
        few = [value for value in control.offered() if dice.random() < 0.4]
        return few[:6]
    if kind == "date":
        return day(dice, today, 20, 40)
    if kind == "email":
        return f"{dice.choice('abcdef')}@post.example"
    if kind == "number":
        return dice.choice((str(dice.randint(0, 30)), amount(dice, 0, 40, 1), "1", "2"))
    if kind in ("hidden", "file", "password"):
        return None
    if "size" in name:
        return dice.choice(STRANGE_SIZES[:5])
    if any(word in name for word in ("price", "value", "amount", "freight", "cost", "shipping")):
        return amount(dice, 0, 90)
    if any(word in name for word in ("_ml", "mixed", "left", "kept", "quantity", "volume")):
        return f"{dice.randint(0, 200)} mL"
    return f"{mark} {dice.choice(COLOURS)} {dice.randint(1, 999)}"


def strange(dice, control, mark):
    """Return what nobody should give a control, or hardly."""
    name, kind = control.name, control.type
    if kind in ("select", "radio"):
        return dice.choice(("0", "-1", "nothing", "99999999999999999999", "", "1"))
    if kind in ("checkbox", "select-multiple"):
        return dice.choice(([], ["0"], ["x"], ["-1", "-1"], ["99999999999999999999"]))
    if kind == "date":
        return dice.choice(STRANGE_DAYS)
    if kind == "number":
        return dice.choice(STRANGE_NUMBERS)
    if kind == "file":
        return None
    if name == "outline":
        return dice.choice(OUTLINES)
    if "size" in name:
        return dice.choice((*STRANGE_SIZES, *STRANGE[:6]))
    if dice.random() < 0.35:
        return dice.choice(STRANGE_NUMBERS)
    return mark + dice.choice(STRANGE)
