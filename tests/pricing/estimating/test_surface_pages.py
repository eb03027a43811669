"""Surfaces of every shape, taken down and shown on the pages."""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from pricing.estimating.sizes import geometry
from pricing.models import SavedSurface
from tests.conftest import member
from tests.factories.bench import working_studio

pytestmark = pytest.mark.django_db
FOUR = ["top", "right", "bottom", "left"]


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def client(bench):
    return member(bench.studio, "maker").client


def take_down(client, **data):
    return client.post(
        reverse("surface-new"), {"name": "Board", "sides_painted": FOUR, **data}, follow=True
    )


def text_of(response):
    return " ".join(response.content.decode().split())


@pytest.mark.parametrize(
    ("size", "shape", "top_area_mm2", "side_area_mm2"),
    [
        # 2 (1 + √2) side², side = across flats / (1 + √2): 100² × 2 (√2 − 1)
        ("10 cm octagon", "polygon", 8284.271247, 0),
        # π / 4 (300² − 200²), and both edges at 20 mm
        ("30 cm ring, 20 cm hole, 2 cm deep", "ring", 39269.908170, 31415.926536),
        ("30 × 20 cm oval", "oval", 47123.889804, 0),
    ],
)
def test_a_shape_is_read_from_its_size(client, size, shape, top_area_mm2, side_area_mm2):
    take_down(client, size=size)

    saved = SavedSurface.objects.get(name="Board")
    assert saved.shape == shape
    assert geometry(saved).top_area_mm2 == pytest.approx(top_area_mm2)
    assert geometry(saved).side_area_mm2 == pytest.approx(side_area_mm2)


@pytest.mark.parametrize("drawing", ["0,0 200,0 200,100 0,100", "M 0 0 H 200 V 100 H 0 Z"])
def test_an_outline_is_taken_as_points_or_as_a_path(client, drawing):
    page = take_down(client, outline=drawing, depth_mm="10 mm", inset_mm="5 mm")

    saved = SavedSurface.objects.get(name="Board")
    assert (saved.shape, saved.width_mm, saved.height_mm) == ("outline", D(200), D(100))
    assert geometry(saved).top_area_mm2 == pytest.approx(20_000)
    assert geometry(saved).side_area_mm2 == pytest.approx(6_000)
    assert geometry(saved).flat_area_mm2 == pytest.approx(190 * 90)
    assert "an outline within 20 × 10 × 1 cm" in text_of(page)


def test_bare_sides_take_no_paint(client):
    page = take_down(client, size="200 x 100 x 10 mm", sides_painted=["top", "left"])

    saved = SavedSurface.objects.get(name="Board")
    assert saved.sides_painted == "top, left"
    assert geometry(saved).side_area_mm2 == pytest.approx(3_000)
    assert "painted sides: top, left" in text_of(page)
    assert text_of(page).count('stroke-dasharray="3 3"') == 2  # the two that stay bare


def test_no_side_ticked_leaves_all_bare(client):
    take_down(client, size="200 x 100 x 10 mm", sides_painted=[])

    assert SavedSurface.objects.get(name="Board").sides_painted == "none"


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({}, "one of the two"),
        ({"size": "8x8in", "outline": "0,0 200,0 200,100"}, "one of the two"),
        ({"size": "blue"}, "“blue”"),
        ({"size": "20 cm ring, 30 cm hole"}, "hole must be smaller"),
        ({"size": "10 cm round", "sides_painted": ["top"]}, "four straight sides"),
        ({"outline": "0,0 200,0"}, "three different points"),
        ({"outline": "0,0 200,100 200,0 0,100"}, "crosses itself"),
        ({"outline": "a leaf"}, "SVG path"),
        ({"outline": "0,0 200,0 200,100", "depth_mm": "deep"}, "“deep”"),
    ],
)
def test_what_is_no_surface_is_refused_and_what_was_typed_stays(client, data, sentence):
    answer = take_down(client, nominal="As sold", **data)

    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert 'value="As sold"' in text_of(answer)
    assert not SavedSurface.objects.filter(name="Board").exists()


def test_a_surface_opens_for_change_as_it_was_taken_down(bench, client):
    take_down(client, outline="0,0 200,0 200,100", depth_mm="10 mm")
    take_down(client, name="Tray", size="30 x 20 cm oval", sides_painted=[])

    shown = {
        name: client.get(
            reverse("surface-edit", args=[bench.studio.surfaces.get(name=name).pk])
        ).context["form"]
        for name in ("Board", "Tray")
    }

    assert shown["Board"]["depth_mm"].value() == "10 mm"
    assert shown["Board"]["size"].value() in (None, "")
    assert shown["Board"]["sides_painted"].value() == FOUR
    assert shown["Tray"]["sides_painted"].value() == []
    assert "oval" in shown["Tray"]["size"].value()


def test_what_is_measured_stands_beside_what_it_is_sold_as(bench, client):
    bench.tile_size.nominal = "4 × 4 in"
    bench.tile_size.save()

    assert "Sold as 4 × 4 in, measures 10 × 10 × 0.6 cm" in text_of(client.get(reverse("surfaces")))
