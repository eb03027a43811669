"""Requests made up from the API's own description: any operation, with a body that may be odd."""

import re
from functools import cache

from drf_spectacular.generators import SchemaGenerator

from tests.living import every_address, words

# The rows behind a number in a body, by the name it has there.
IDS = {
    "material": "materials",
    "supplier": "suppliers",
    "pack": "packs",
    "recipe": "recipes",
    "base": "recipes",
    "activator": "recipes",
    "surface": "surfaces",
    "palette": "palettes",
    "topcoat": "resin_kits",
    "kit": "resin_kits",
    "packaging": "materials",
    "resin": "materials",
    "hardener": "materials",
    "customer": "customers",
    "channel": "channels",
    "commission": "commissions",
    "set": "sets",
    "pieces": "pieces",
    "bottle": "bottles",
    "line": None,
}
NUMBERED = {"commission", "set"}  # named by the number that the studio gave them
# These would end the story: the only owner's role, the token that asks.
LEFT_ALONE = {"api-people-detail", "api-studio-archive"}


@cache
def described():
    """Return what the API says of itself."""
    return SchemaGenerator().get_schema(request=None, public=True)


@cache
def _writes():
    found = []
    for route in every_address.all_routes():
        if not route.is_api or route.name in LEFT_ALONE:
            continue
        path = "/" + re.sub(r"<\w+:(\w+)>", r"{\1}", route.path)
        told = described()["paths"].get(path, {})
        found += [(route, method, told[method]) for method in told if method != "get"]
    return tuple(found)


def any_request(story):
    """Return (method, address, body) of a write to any endpoint; address None without a row."""
    route, method, told = story.dice.choice(_writes())
    address = every_address.address_of(story, route)
    kinds = told.get("requestBody", {}).get("content", {})
    schema = next((one["schema"] for one in kinds.values()), None)
    odd = story.dice.choice((0, 0.1, 0.4))
    return method, address, _made(story, schema, "", odd) if schema else {}


def _made(story, schema, name, odd, deep=0):
    dice = story.dice
    if "$ref" in schema:
        schema = described()["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
    for several in ("allOf", "oneOf", "anyOf"):
        if several in schema:
            return _made(story, dice.choice(schema[several]), name, odd, deep)
    if dice.random() < odd:
        return dice.choice((None, [], {}, True, "", 0, -1, 10**30, *words.STRANGE_NUMBERS[:8]))
    if "enum" in schema:
        return dice.choice(schema["enum"])
    kind = schema.get("type")
    if isinstance(kind, list):
        kind = kind[0]
    if kind == "object" or "properties" in schema:
        needed = set(schema.get("required", ()))
        return {
            key: _made(story, one, key, odd, deep + 1)
            for key, one in schema.get("properties", {}).items()
            if not one.get("readOnly") and (key in needed or dice.random() < 0.4)
        }
    if kind == "array":
        several = range(dice.choice((1, 1, 2, 0))) if deep < 6 else ()
        return [_made(story, schema["items"], name, odd, deep + 1) for _ in several]
    if kind == "boolean":
        return dice.random() < 0.5
    if kind == "integer":
        rows = IDS.get(name) and story.any(getattr(story.studio, IDS[name]))
        if not rows:
            return dice.randint(0, 5)
        return rows.number if name in NUMBERED else rows.pk
    if kind == "number":
        return round(dice.uniform(0, 50), 2)
    return _text(story, schema, name, odd)


def _text(story, schema, name, odd):
    dice, form = story.dice, schema.get("format", "")
    is_odd = dice.random() < odd
    if form == "date":
        return dice.choice(words.STRANGE_DAYS) if is_odd else words.day(dice, story.today, 20, 40)
    if form == "date-time":
        return "0001-01-01T00:00:00Z" if is_odd else f"{words.day(dice, story.today, 20)}T10:00:00Z"
    if form == "email":
        return "c@post.example"
    if form == "decimal" or "pattern" in schema:
        return dice.choice(words.STRANGE_NUMBERS) if is_odd else words.amount(dice, 0, 40)
    if name in ("bottle", "code"):
        found = story.any(story.studio.bottles)
        return found.code if found else "B0001"
    if name == "technique":
        return "bloom"
    if "size" in name:
        return dice.choice(words.STRANGE_SIZES)
    return words.MAIN + (dice.choice(words.STRANGE) if is_odd else f" word {dice.random():.3f}")
