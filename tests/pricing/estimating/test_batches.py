"""One batch a layer for the job: what it saves beside a cup for each piece or line."""

from decimal import Decimal as D
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from pricing.bench.mixing_sheets import commission_sheet
from pricing.estimating.batches import for_lines, for_pieces
from pricing.estimating.estimates import estimate, estimate_commission
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def mixed_ml(bench, surface, count):
    found = estimate(bench.studio, surface, "bloom", count, bench.palette)
    return sum(layer.to_mix_ml for layer in found.layers)


def test_pieces_in_one_batch_take_less_than_a_cup_for_each(bench):
    piece = estimate(bench.studio, bench.tile_size, "bloom", 6, bench.palette)

    saves = for_pieces(piece)

    assert (saves.each, saves.together_ml) == ("piece", mixed_ml(bench, bench.tile_size, 6))
    assert saves.apart_ml == 6 * mixed_ml(bench, bench.tile_size, 1)
    assert saves.saved_ml == saves.apart_ml - saves.together_ml > 0
    assert for_pieces(estimate(bench.studio, bench.tile_size, "bloom", 1, bench.palette)) is None


def test_lines_of_one_palette_in_one_batch_take_less_than_each_by_itself(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    add_tiles(bench, commission, surface=bench.canvas_size, quantity=2, pieces_each=1)
    lines = estimate_commission(commission).lines

    saves = for_lines(lines)

    apart = mixed_ml(bench, bench.tile_size, 8) + mixed_ml(bench, bench.canvas_size, 2)
    assert (saves.each, saves.apart_ml) == ("line", apart)
    assert saves.saved_ml > 0
    assert for_lines(lines[:1]) == for_pieces(lines[0].piece)


def test_page_sheet_and_api_say_the_same(bench):
    commission = accepted(bench)
    person = member(bench.studio, "maker")
    saves = for_lines(estimate_commission(commission).lines)

    page = person.client.get(reverse("commission", args=[commission.number])).content.decode()
    sheet = commission_sheet(bench.studio, [commission])
    of_work = person.api.get(f"/api/v1/commissions/{commission.number}/estimate/").data
    body = {"surface": bench.tile_size.pk, "technique": "bloom", "count": 8}
    planned = person.api.post("/api/v1/estimates/", {**body, "palette": bench.palette.pk}).data
    query = {"size": bench.tile_size.name, "technique": "bloom", "count": 8}
    query |= {"palette": bench.palette.pk}
    plan = person.client.get("/plan/", query).content.decode()
    pages = PdfReader(BytesIO(person.client.get(reverse("plan-mixing-pdf"), query).content)).pages
    paper = " ".join(" ".join(page.extract_text() for page in pages).split())

    assert sheet.one_batch == saves
    for answer in (of_work, planned):
        told = answer["one_batch"]
        assert told["each"] == "piece"
        assert (D(told["saved_ml"]), D(told["apart_ml"])) == (saves.saved_ml, saves.apart_ml)
    for text in (page, plan, paper):
        assert "less paint than a cup for each piece" in text
