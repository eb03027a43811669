"""Every address of the API, filled in for one row of each kind."""

from django.urls import reverse

from tests.studio.test_routes import routes

OPEN = {"api-schema", "api-docs"}  # they name no studio
SAFE = ("get",)
METHODS = ("get", "post", "put", "patch", "delete")

# What stands in an address, by the first part of its path.
KEYS = {
    "materials": ("material", "pk"),
    "suppliers": ("supplier", "pk"),
    "packs": ("pack", "pk"),
    "recipes": ("recipe", "pk"),
    "batches": ("batch", "pk"),
    "bottles": ("bottle", "code"),
    "counts": ("count", "number"),
    "entries": ("entry", "pk"),
    "deliveries": ("delivery", "pk"),
    "orders": ("order", "number"),
    "surfaces": ("surface", "pk"),
    "techniques": ("technique", "slug"),
    "palettes": ("palette", "pk"),
    "resin-kits": ("kit", "pk"),
    "products": ("product", "pk"),
    "channels": ("channel", "pk"),
    "customers": ("customer", "pk"),
    "commissions": ("commission", "number"),
    "quotes": ("quote", "pk"),
    "pours": ("pour", "number"),
    "pairs": ("pair", "number"),
    "weighings": ("weighing", "pk"),
    "pictures": ("picture", "pk"),
    "tile-answers": ("tile_answer", "pk"),
    "pieces": ("piece", "pk"),
    "sets": ("set", "number"),
    "sales": ("sale", "number"),
    "consignments": ("consignment", "number"),
    "appraisals": ("appraisal", "pk"),
    "closings": ("closing", "pk"),
    "costing-changes": ("costing_change", "pk"),
    "payments": ("payment", "number"),
    "invoices": ("invoice", "number"),
    "people": ("membership", "pk"),
    "days-off": ("day_off", "pk"),
    "calendar-links": ("calendar_link", "pk"),
    "gone-on": ("gone_on", "pk"),
}
# A second row in an address, by the part before it.
INNER = {
    "orders/lines": "order_line",
    "commissions/lines": "line",
    "pours/topcoats": "topcoating",
}


def endpoints():
    """Yield (name, pattern, path below /api/v1/) of every endpoint of a studio."""
    for path, pattern in routes():
        if path.startswith("api/v1/") and pattern.name not in OPEN:
            yield pattern.name, pattern, path.removeprefix("api/v1/")


def sights_of(pattern, method):
    """Return the kinds of knowledge that must be seen to ask an endpoint by a method."""
    view, actions = pattern.callback.cls, getattr(pattern.callback, "actions", {})
    return view(**pattern.callback.initkwargs).sights_of(actions.get(method), method)


def methods_of(pattern):
    """Return {method: least role} of what an endpoint can be asked."""
    view = getattr(pattern.callback, "cls", None)
    if not hasattr(view, "read_role"):  # the description, which anyone may read
        return {"get": "anyone"}
    if actions := getattr(pattern.callback, "actions", None):
        roles = {m: view.role_of(name, m) for m, name in actions.items() if m in METHODS}
        return {m: _seeing(role, sights_of(pattern, m)) for m, role in roles.items()}
    return {
        method: view.read_role if method in SAFE else view.write_role
        for method in METHODS
        if hasattr(view, method)
    }


def _seeing(role, sights):
    """Return the least role: no viewer's, where all is of a kind that no viewer sees."""
    return "maker" if sights and role == "viewer" else role


def operations():
    """Yield (method, name, least role) of everything that can be asked of the API."""
    for name, pattern, _ in endpoints():
        yield from ((method, name, role) for method, role in methods_of(pattern).items())


def address(name, one):
    """Return the address of an endpoint for one row of each kind, see `one_of_everything`."""
    (path,) = (path for found, _, path in endpoints() if found == name)
    parts = path.split("/")
    if len(parts) < 3:
        return reverse(name)
    row, key = KEYS[parts[0]] if "<" in parts[1] else (None, None)
    arguments = {key: getattr(getattr(one, row), key)} if row else {}
    if len(parts) > 4 and "<" in parts[3]:
        arguments["pk"] = getattr(one, INNER[f"{parts[0]}/{parts[2]}"]).pk
    return reverse(name, kwargs=arguments)


def names_a_row(name):
    """Tell whether an address names a row."""
    return any(found == name and "<" in path for found, _, path in endpoints())
