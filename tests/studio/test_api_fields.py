"""Amounts in the API: numbers in the storage unit, or text as a maker writes it.

A US tablespoon is half a fluid ounce, 14.78676478125 mL (NIST Handbook 44, appendix C); the
Australian one 20 mL and the metric one 15 mL (common practice, no source).
"""

from decimal import Decimal
from types import SimpleNamespace

import pytest
from rest_framework import serializers

from studio.api.fields import (
    AmountField,
    LengthField,
    MassField,
    MoneyField,
    SizeField,
    VolumeField,
    read_amount,
)


class Sent(serializers.Serializer):
    volume = VolumeField(required=False)
    mass = MassField(required=False)
    length = LengthField(required=False)
    size = SizeField(required=False)
    money = MoneyField(required=False)
    amount = AmountField(required=False)


def studio(measures="us"):
    return SimpleNamespace(measures=measures, lengths="in", currency="EUR", locale="en_IE")


def read(measures="us", **data):
    form = Sent(data=data, context={"request": SimpleNamespace(studio=studio(measures))})
    form.is_valid(raise_exception=True)
    return form.validated_data


@pytest.mark.parametrize("sent", (22.5, "22.5", " 22.5 mL", Decimal("22.5")))
def test_a_volume_without_a_unit_is_in_ml(sent):
    assert read(volume=sent) == {"volume": Decimal("22.5")}


@pytest.mark.parametrize(
    ("measures", "tablespoon_ml"), [("us", "14.786765"), ("metric", "15"), ("au", "20")]
)
def test_spoons_are_the_studios_own(measures, tablespoon_ml):
    volume = read(measures, volume="1 1/2 tbsp")["volume"]

    assert float(volume) == pytest.approx(1.5 * float(tablespoon_ml), abs=1e-3)


def test_weights_lengths_and_money_are_read_too():
    found = read(mass=450, length="4 in", money="€41.99")

    assert found == {"mass": 450, "length": Decimal("101.6"), "money": Decimal("41.99")}


def test_a_length_without_a_unit_is_in_mm():
    assert read(length=101.6) == {"length": Decimal("101.6")}


def test_a_size_is_read_to_mm():
    size = read(size="8x8x1.5in")["size"]

    assert (size.width_mm, size.depth_mm) == (Decimal("203.2"), Decimal("38.1"))


@pytest.mark.parametrize("sent", ("", "lots", -1, 0, "nan", "1e999", True, None, [], {}, "9" * 61))
@pytest.mark.parametrize("field", ("volume", "mass", "length", "size"))
def test_nonsense_gets_a_sentence(field, sent):
    with pytest.raises(serializers.ValidationError) as refusal:
        read(**{field: sent})

    assert str(refusal.value.detail[field][0]).endswith(".")


@pytest.mark.parametrize(
    ("unit", "text", "amount"), [("ml", "250", 250), ("g", "1.5 kg", 1500), ("each", "12", 12)]
)
def test_an_amount_is_read_in_its_materials_unit(unit, text, amount):
    material = SimpleNamespace(unit=unit, density_g_per_ml=None)

    assert read_amount(read(amount=text)["amount"], material, studio()) == amount


def test_an_amount_of_the_wrong_kind_is_refused_at_its_field():
    tiles = SimpleNamespace(unit="each", density_g_per_ml=None)

    with pytest.raises(serializers.ValidationError) as refusal:
        read_amount("3 cups", tiles, studio(), field="lines")

    assert list(refusal.value.detail) == ["lines"]
