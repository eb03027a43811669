"""Every form that a person sends is safe to send twice; each page that creates is walked."""

import re
from datetime import timedelta
from pathlib import Path

import pytest
from django import forms
from django.apps import apps
from django.conf import settings
from django.urls import reverse

from studio.once import FIELD
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.going_on import WITH, pack_set
from tests.factories.inventory import PackFactory, PurchaseOrderFactory, SupplierFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened
from tests.studio.test_routes import routes

POST_FORM = re.compile(r'<form(?P<tag>[^>]*method="post"[^>]*)>(?P<inside>.*?)</form>', re.DOTALL)
# Forms that need no mark, by a word of them, and why sending them twice does no harm.
HARMLESS = {
    "sign-in": "signs in",
    "sign-out": "signs out",
    "join": "a link of an invitation works once",
    "start": "a name of one's own studio, and an account, are there once",
    "password": "sets what is set",
    "settings": "sets what is set",
    "switch-studio": "sets what is set",
    "change-role": "sets what is set",
    "alert-mail": "sets what is set",
    "remove-member": "gone is gone",
    "withdraw-invitation": "gone is gone",
    "revoke-token": "gone is gone",
    "customer-accept": "the same answer is one answer",
    "customer-decline": "the same answer is one answer",
    "customer-tile": "the same answer is one answer",
    "calendar-link": "a new address takes the place of the one before",
    "mail-again": "one that waits waits",
    "mail-give-up": "gone is gone",
    "job-again": "one that waits waits",
    "forgotten": "one mail in ten minutes",
    "new-password": "its link works once",
    "tokens": "a label is there once",
    "invite": "a new link takes the place of the one before",
}


def post_forms():
    for path in sorted(Path(settings.BASE_DIR, "templates").rglob("*.html")):
        for number, found in enumerate(POST_FORM.finditer(path.read_text(encoding="utf-8"))):
            yield pytest.param(path, found, id=f"{path.stem}-{number}")


@pytest.mark.parametrize(("path", "found"), list(post_forms()))
def test_every_form_is_marked_or_harmless(path, found):
    target = re.search(r"{% url '([\w-]+)'", found["tag"])
    name = target[1] if target else path.stem.replace("_", "-")
    is_marked = "{% once %}" in found["inside"] or 'name="once"' in found["inside"]

    assert is_marked or name in HARMLESS


@pytest.fixture
def bench(db):
    """A studio with work at every stage, so that each form has something to be about."""
    bench = working_studio()
    studio = bench.studio
    bench.supplier = SupplierFactory(studio=studio)
    PackFactory(studio=studio, material=bench.white, supplier=bench.supplier)
    bench.asked = opened(bench)
    add_tiles(bench, bench.asked, quantity=1)
    bench.work = accepted(bench, quantity=3)
    bench.line = bench.work.lines.get()
    bench.pour = log(bench, line=bench.line, count=8, good_count=8)
    pieces = list(bench.pour.pieces.all())
    bench.packed = pack_set(
        studio=studio, by=None, name="", pieces=pieces[:4], line=bench.line, minutes=1
    )
    spare = list(log(bench, count=1, good_count=1).pieces.all())
    bench.spare = pack_set(studio=studio, by=None, name="Spare", pieces=spare, minutes=1)
    bench.white.tare_g = 20
    bench.white.save()
    bench.order = PurchaseOrderFactory(studio=studio, supplier=bench.supplier, number=99)
    bench.shop = studio.channels.create(name="Gallery", is_consignment=True)
    return bench


# Where a page stands that is about something, and what is typed that cannot be guessed.
ABOUT = {
    "receive": lambda b: [b.white.pk],
    "bottle-count": lambda b: [b.white.bottles.first().code],
    "bottle-decant": lambda b: [b.white.bottles.first().code],
    "bottle-weigh": lambda b: [b.white.bottles.first().code],
    "commission-pictures": lambda b: [b.work.number],
    "pack-new": lambda b: [b.supplier.pk],
    "line-new": lambda b: [b.asked.number],
    "quote-new": lambda b: [b.asked.number],
    "payment-new": lambda b: [b.work.number],
    "invoice-new": lambda b: [b.work.number],
    "topcoat-new": lambda b: [b.pour.number],
    "order-line-new": lambda b: [b.order.number],
    "commission-of-plan": lambda b: [],
}
ASKED = {
    "commission-of-plan": lambda b: f"?size=9x7x1in&palette={b.palette.pk}",
    "pour-new": lambda b: f"?line={b.line.pk}",
    "set-new": lambda b: f"?line={b.line.pk}",
    "appraisal-new": lambda b: f"?material={b.white.pk}",
    "order-new": lambda b: f"?supplier={b.supplier.pk}",
}
TYPED = {
    "appraisal-new": lambda b: {"thing": f"material-{b.white.pk}"},
    "bottle-weigh": lambda b: {"gross_g": "500"},
    "commission-new": lambda b: {"new_customer": "Somebody"},
    "commission-of-plan": lambda b: {"new_customer": "Somebody"},
    "consignment-new": lambda b: {f"price_{b.spare.pk}": "48", **WITH},
    "line-new": lambda b: {"surface": b.tile_size.pk, **WITH},
    "order-new": lambda b: {f"count_{b.supplier.packs.first().pk}": "2"},
    "product-new": lambda b: WITH,
    "payment-new": lambda b: {"amount": "20"},
    "sale-new": lambda b: {f"price_{b.packed.pk}": "48", **WITH},
    "set-new": lambda b: WITH,
    "topcoat-new": lambda b: WITH,
    "surface-new": lambda b: {"size": "10 × 20 cm"},
    "batch-new": lambda b: {"recipe": b.base.pk, "volume_ml": "10 mL"},
    "recipe-new": lambda b: {
        "parts-TOTAL_FORMS": "1",
        "parts-INITIAL_FORMS": "0",
        "parts-0-what": f"m{b.white.pk}",
        "parts-0-parts": "1",
    },
    "palette-new": lambda b: {
        "base": b.base.pk,
        "colours-TOTAL_FORMS": "1",
        "colours-INITIAL_FORMS": "0",
        "colours-0-recipe": b.gold_mix.pk,
        "colours-0-parts": "1",
    },
    "days-off-new": lambda b: {"off-first": str(b.studio.today() + timedelta(days=9))},
}
# Buttons of a page of their own, which need no form to fill in.
NO_FORM = {"days-off-new"}


def creating():
    """Return the names of the pages that make something: all that are called new, and a few."""
    names = {
        pattern.name
        for path, pattern in routes()
        if not path.startswith("api/") and (pattern.name or "").endswith("-new")
    }
    return sorted(names | (ABOUT.keys() - {"commission-pictures"}))


def filled(field):
    """Return what a person might type into a field that is empty and must not be."""
    if isinstance(field, forms.ModelChoiceField):
        found = field.queryset.first()
        return field.prepare_value(found)
    if isinstance(field, forms.ChoiceField):
        return next(value for value, _ in field.choices if value)
    if isinstance(field, forms.DateField):
        return "2026-12-24"
    if isinstance(field, forms.EmailField):
        return "somebody@else.example"
    if isinstance(field, forms.IntegerField | forms.DecimalField):
        return str(max(field.min_value or 1, 1))
    return "5"


def sending(page, typed):
    """Return what a browser sends of a page that somebody filled in."""
    form = page.context["form"]
    data = {FIELD: page.context["once"]}
    for name, field in form.fields.items():
        value = form[name].value()
        is_empty = value is None or value == "" or value == []
        if is_empty and field.required:
            value = filled(field)
        elif is_empty or value is False:
            continue
        if value is not None:
            data[form.add_prefix(name)] = value
    return data | typed


def rows():
    """Return how many rows each table of the product has, but for what sendings are known by."""
    models = [
        one
        for app in ("studio", "inventory", "pricing")
        for one in apps.get_app_config(app).get_models()
    ]
    return {one.__name__: one.objects.count() for one in models}


@pytest.mark.parametrize("name", creating())
def test_a_page_that_makes_something_makes_it_once(bench, name):
    owner = member(bench.studio, "owner").client
    address = reverse(name, args=ABOUT[name](bench) if name in ABOUT else [])
    address += ASKED[name](bench) if name in ASKED else ""
    typed = TYPED[name](bench) if name in TYPED else {}
    data = typed | {FIELD: "x"} if name in NO_FORM else sending(owner.get(address), typed)
    before = rows()

    first = owner.post(address, data)
    made = rows()
    again = owner.post(address, data, follow=True)

    assert first.status_code == 302, first.context["form"].errors
    assert made != before
    assert rows() == made
    assert "This was sent before" in again.content.decode()
