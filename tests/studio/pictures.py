"""Reads a chart back from its SVG alone: what its ticks say, and where its marks are by them."""

import re
from calendar import month_abbr
from datetime import datetime
from xml.etree import ElementTree

from defusedxml.ElementTree import fromstring

MONTHS = list(month_abbr)[1:]
POWERS = {"millions": 6, "billions": 9, "trillions": 12}
TICK = re.compile(r"M(\S+) (\S+)L(\S+) (\S+)")


def name_of(element):
    return element.tag.rpartition("}")[2]


def parts(svg, name):
    """Return all elements of a name, outermost first."""
    return [one for one in fromstring(svg).iter() if name_of(one) == name]


def words_in(element):
    return "".join(one.text for one in element.iter() if name_of(one) == "text")


def ticks(svg, axis):
    """Return (place, label) of an axis, "x" or "y": a line and its label stand in one group."""
    found = []
    for group in parts(svg, "g"):
        children = list(group)
        if not children or name_of(children[0]) != "path":
            continue
        line = TICK.fullmatch(children[0].get("d"))
        if line is None or not words_in(group):
            continue
        x1, y1, x2, _ = map(float, line.groups())
        if (x1 == x2) == (axis == "x"):
            found.append((x1 if axis == "x" else y1, words_in(group)))
    return found


def power(svg, title):
    """Return the power of ten that the axis of this title is counted in."""
    (words,) = [
        one.text for one in parts(svg, "text") if re.fullmatch(rf"(In \S+: )?{title}", one.text)
    ]
    counted = re.match(r"In (?:10\^)?(\S+): ", words)
    if counted is None:
        return 0
    return POWERS.get(counted[1]) or int(counted[1])


def amount(label):
    return float(label.replace("\u2212", "-").replace("\u202f", ""))


def ruler(found):
    """Return the function from a place to its value by the outermost ticks; others must agree."""
    (low, first), (high, last) = min(found), max(found)

    def value(place):
        return first + (place - low) / (high - low) * (last - first)

    span = abs(last - first)
    assert all(abs(value(place) - told) <= span * 1e-4 for place, told in found)
    return value


def amounts(svg, axis, title):
    """Return the function from a place along an axis to its amount, and one pixel's worth."""
    found = [(place, amount(label)) for place, label in ticks(svg, axis)]
    value = ruler(found)
    scale = 10.0 ** power(svg, title)
    return lambda place: value(place) * scale, abs(value(1) - value(0)) * scale


def days(svg):
    """Return the function from a place to its day, as an ordinal."""
    labels, found = ticks(svg, "x"), []
    below = [one.text for one in parts(svg, "text") if re.fullmatch(r"\d{1,4}", one.text)]
    year = below[-1] if below else None
    for place, label in labels:
        words = label.split()
        if re.fullmatch(r"\d{3,4}|\d", words[-1]) and words[-1] not in MONTHS:
            year = words.pop()
        day = words.pop(0) if words and words[0].isdigit() else "1"
        month = words[0] if words else "Jan"
        told = datetime.strptime(f"{day} {month} {int(year):04}", "%d %b %Y").toordinal()
        found.append((place, told))
    return ruler(found)


def inside(svg):
    """Return what reaches out of the picture, or is no number: nothing, if all is well."""
    root = fromstring(svg)
    _, _, wide, high = map(float, root.get("viewBox").split())
    return list(_outside(root, 0.0, 0.0, wide, high))


def _outside(element, dx, dy, wide, high):
    moved = re.fullmatch(r"translate\((\S+) (\S+)\)", element.get("transform", ""))
    if moved:
        dx, dy = dx + float(moved[1]), dy + float(moved[2])
    for x, y in spots(element):
        if not (-0.01 <= x + dx <= wide + 0.01 and -0.01 <= y + dy <= high + 0.01):
            yield ElementTree.tostring(element)
    for child in element:
        yield from _outside(child, dx, dy, wide, high)


def spots(element):
    """Return the corners of what an element draws; a text's place only."""

    def at(*names):
        return [float(element.get(name, 0)) for name in names]

    match name_of(element):
        case "rect":
            x, y, wide, high = at("x", "y", "width", "height")
            return [(x, y), (x + wide, y + high)]
        case "circle":
            x, y, r = at("cx", "cy", "r")
            return [(x - r, y - r), (x + r, y + r)]
        case "text":
            return [tuple(at("x", "y"))]
        case "path":
            numbers = [float(n) for n in re.split(r"[MLZ ]+", element.get("d")) if n]
            return list(zip(numbers[::2], numbers[1::2], strict=True))
    return []
