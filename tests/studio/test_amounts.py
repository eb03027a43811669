"""Amounts in templates."""

from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.template import Context, Template

STUDIO = SimpleNamespace(currency="USD", locale="en_US", measures="us", lengths="in")


@pytest.mark.parametrize(
    ("filter_", "value", "text"),
    [
        ("money:studio", Decimal("1234.5"), "$1,234.50"),
        ("money:studio", Decimal("-3"), "-$3.00"),
        ("money:studio", None, "–"),
        ("fine_money:studio", Decimal("0.0213"), "$0.0213"),
        ("volume:studio", Decimal("22.18"), "22 mL (1½ tbsp)"),
        ("kitchen:studio", Decimal("473.18"), "2 cups"),
        ("length:studio", Decimal("38.1"), "1½ in"),
        ("length:studio", None, "–"),
        ("length", [1, 2, 3], "3"),  # Django's own, which its admin needs
        ("percent", Decimal("0.3500"), "35%"),
        ("percent", Decimal("0.0725"), "7.25%"),  # a tax rate is never rounded
        ("percent", Decimal("-0.5"), "−50%"),
        ("percent", 1 / 3, "33.3%"),
        ("percent", None, "–"),
        ("chance", Decimal("0.0099"), "under 1%"),
        ("chance", Decimal("0.995"), "over 99%"),
        ("chance", Decimal("0.4567"), "46%"),
        ("count", Decimal("12.0000"), "12"),
        ("duration", Decimal("450.4"), "7 h 30 min"),
        ("duration", 0, "0 min"),
    ],
)
def test_a_filter_writes_what_a_person_reads(filter_, value, text):
    template = Template("{{ value|" + filter_ + " }}")

    written = template.render(Context({"value": value, "studio": STUDIO}))

    assert written == text


@pytest.mark.parametrize(
    ("unit", "value", "text"),
    [
        ("ml", Decimal("250.0000"), "250 mL"),
        ("g", Decimal("1500"), "1.5 kg"),
        ("each", Decimal("12.0000"), "12"),
        ("ml", Decimal("-40"), "−40 mL"),
        ("ml", None, "–"),
    ],
)
def test_a_quantity_is_in_its_materials_unit(unit, value, text):
    context = Context({"value": value, "material": SimpleNamespace(unit=unit)})

    assert Template("{{ value|quantity:material }}").render(context) == text
