"""A process that writes stock until it is killed, and says through a pipe what it is about to do.

Imported once by the server that forks such processes, so that each begins within milliseconds.
"""

import os
import random
from decimal import Decimal
from itertools import count
from signal import SIGKILL

import django
from django.apps import apps

if not apps.ready:
    django.setup()

from django.db import connection
from django.urls import get_resolver
from rest_framework.test import APIClient

from inventory.models import Delivery, Entry, Material
from inventory.stock import ledger as stock
from pricing.models import Pour

API = "/api/v1/"
get_resolver().resolve(f"{API}pours/")  # imports every view there is, once for all processes
ACTS = ("receive", "use", "use", "reverse", "pour", "by service")
# Where the key of an act is found again in what it wrote.
TRACES = {
    "receive": (Delivery, "reference"),
    "use": (Entry, "purpose"),
    "reverse": (Entry, "why"),
    "pour": (Pour, "notes"),
    "by service": (Entry, "purpose"),
}


def write(pipe, database, facts, seed, last_statement=None):
    """Write until killed: by the parent, or by itself in place of its ``last_statement``."""
    connection.settings_dict |= database
    if last_statement:
        connection.execute_wrappers.append(_deadly(last_statement))
    draw, used = random.Random(seed), []
    for number in count():
        act = draw.choice(ACTS)
        if act == "reverse" and not used:
            act = "use"
        key = f"{seed}-{number}"
        path, body = request(act, key, facts, used)
        pipe.send(("about", act, key, path, body))
        entry = _by_service(facts, key) if act == "by service" else post(facts, path, body, key)
        if act == "use":
            used.append(entry["id"])
        pipe.send(("done", act, key))


def post(facts, path, body, key):
    """Send a write to the API; return its answer."""
    api = APIClient()
    api.credentials(HTTP_AUTHORIZATION=f"Token {facts['token']}")
    answer = api.post(f"{API}{path}", body, format="json", headers={"Idempotency-Key": key})
    assert answer.status_code == 201, answer.data
    return answer.data


def request(act, key, facts, used):
    """Return the path and body of an act; what it undoes is taken off ``used``."""
    if act == "receive":
        receipts = [{"material": facts["white"], "quantity": "100", "price": "2.00", "bottles": 2}]
        return "deliveries/", {"receipts": receipts, "reference": key}
    if act == "use":
        amounts = [{"material": facts[name], "quantity": "7"} for name in ("blue", "white")]
        return "uses/", {"amounts": amounts, "purpose": key}
    if act == "reverse":
        return f"entries/{used.pop()}/reverse/", {"why": key}
    layers = [
        {"layer": "base", "mixed_ml": "30", "left_ml": 0, "kept_ml": "5"},
        {"layer": "colours", "mixed_ml": "15"},
        {"layer": "activator", "mixed_ml": "2"},
    ]
    what = {name: facts[name] for name in ("surface", "technique", "palette")}
    return "pours/", {
        **what,
        "count": 1,
        "minutes": "5",
        "layers": layers,
        "notes": key,
    }


def _by_service(facts, key):
    blue = Material.objects.select_related("studio").get(pk=facts["blue"])
    stock.use(studio=blue.studio, by=None, amounts={blue: Decimal(3)}, purpose=key)


def _deadly(last):
    """Count statements, and kill the process where the last of them would be."""
    left = iter(range(last - 1))

    def wrapper(execute, sql, params, many, context):
        if next(left, None) is None:
            os.kill(os.getpid(), SIGKILL)
        return execute(sql, params, many, context)

    return wrapper
