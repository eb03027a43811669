"""What is named in a body is the studio's own; another studio's row does not exist."""

import importlib
import pkgutil

import pytest
from rest_framework import serializers
from rest_framework.test import APIRequestFactory

import inventory
import pricing
import studio
from studio.api.rows import OwnRow, RowIn, RowOut
from tests.factories.everything import one_of_everything


def serializer_classes():
    """Return every serializer of the API."""
    found = set()
    for package in (studio, inventory, pricing):
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if ".api" not in module.name:
                continue
            for thing in vars(importlib.import_module(module.name)).values():
                if isinstance(thing, type) and issubclass(thing, serializers.Serializer):
                    found.add(thing)
    own = (one for one in found if not one.__module__.startswith("rest_framework"))
    return sorted((one for one in own if one not in (RowIn, RowOut)), key=lambda one: one.__name__)


def relations():
    """Yield (serializer, field) of every row that a body can name."""
    for kind in serializer_classes():
        for name, field in kind(context={"request": None}).fields.items():
            field = getattr(field, "child", field)
            field = getattr(field, "child_relation", field)
            if isinstance(field, serializers.RelatedField) and not field.read_only:
                yield kind, name, field


ALL = list(relations())


def test_every_row_a_body_names_is_looked_for_in_the_studio():
    assert len(ALL) > 30
    assert [
        f"{kind.__name__}.{name}" for kind, name, field in ALL if not isinstance(field, OwnRow)
    ] == []


def bound(kind, name, studio):
    """Return the field as it is when a request of the studio comes in."""
    request = APIRequestFactory().post("/")
    request.studio = studio
    field = kind(context={"request": request}).fields[name]
    return getattr(field, "child", field)


def told(field, row):
    """Return how a body names a row."""
    return getattr(row, field.called if field.called != "id" else "pk")


def test_another_studios_row_does_not_exist(studio, other_owner):
    one, other = one_of_everything(studio), one_of_everything(other_owner.studio)
    for row in (other.order, other.commission, other.pour, other.set, other.sale):
        row.number += 900_000
        row.save(update_fields=["number"])
    other.bottle.code = "ELSEWHERE"
    other.bottle.save(update_fields=["code"])
    mine, theirs = {}, {}

    for kind, name, _ in ALL:
        field = bound(kind, name, studio)
        where = f"{kind.__name__}.{name}"
        row = _row_for(field, one)
        mine[where] = field.run_validation(told(field, row)) == row
        if field.called != "slug":  # every studio has the same techniques, and each means its own
            with pytest.raises(serializers.ValidationError) as refused:
                field.run_validation(told(field, _row_for(field, other)))
            theirs[where] = [detail.code for detail in refused.value.detail]

    assert [where for where, found in mine.items() if not found] == []
    assert [where for where, codes in theirs.items() if codes != ["does_not_exist"]] == []


def test_the_refusal_says_what_does_not_exist_and_nothing_of_what_does(maker, other_owner):
    theirs = one_of_everything(other_owner.studio).material

    answer = maker.api.post(
        "/api/v1/uses/", {"amounts": [{"material": theirs.pk, "quantity": "1"}]}
    )

    assert answer.status_code == 400
    (sentence,) = answer.data["fields"]["amounts.0.material"]
    assert f"“{theirs.pk}” does not exist" in sentence
    assert theirs.name not in str(answer.data)


def _row_for(field, one):
    """Return the row of everything that a field could name."""
    rows = [row for row in vars(one).values() if isinstance(row, field.queryset.model)]
    return field.queryset.filter(pk__in=[row.pk for row in rows]).first()


@pytest.mark.parametrize("nonsense", [True, None, [], {}, 1.5, "no\0thing", 10**30, "''; --"])
def test_nonsense_is_refused_in_words(studio, nonsense):
    field = bound(ALL[0][0], ALL[0][1], studio)

    with pytest.raises(serializers.ValidationError) as refused:
        field.run_validation(nonsense)

    assert refused.value.detail[0].code in ("unreadable", "does_not_exist", "null")


def test_what_is_put_away_cannot_be_chosen_anew_but_is_kept(maker, studio):
    one = one_of_everything(studio)
    maker.api.delete(f"/api/v1/materials/{one.tile.pk}/")

    kept = maker.api.patch(f"/api/v1/surfaces/{one.surface.pk}/", {"material": one.tile.pk})
    anew = maker.api.post(
        "/api/v1/surfaces/", {"name": "New", "size": "10 x 10 cm", "material": one.tile.pk}
    )

    assert (kept.status_code, kept.data["material"]["id"]) == (200, one.tile.pk)
    assert (anew.status_code, set(anew.data["fields"])) == (400, {"material"})
