"""Care cards and tags: the strictest words where something is not known, read back from the PDF."""

from datetime import UTC, datetime
from decimal import Decimal as D
from io import BytesIO

import pypdfium2
import pytest
import zxingcpp
from django.conf import settings
from django.urls import reverse
from pypdf import PdfReader

from inventory.stock.labelling import LEAST_MODULE_MM, QUIET_MODULES, qr_code
from pricing.bench.pour_materials import LayerLog
from pricing.models import PieceSet
from pricing.selling.care_cards import SHAPES
from pricing.selling.sales import unpack_set
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.going_on import log_topcoat, pack_set
from tests.factories.pricing import ResinKitFactory
from tests.pricing.bench.test_pours import log

QR = zxingcpp.BarcodeFormat.QRCode


@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_a_code_is_large_enough_for_a_phone(shape):
    address = "https://a-studio-of-some-name.example.org/s/123456/123456/"
    modules = qr_code(address).symbol_size(border=QUIET_MODULES)[0]

    assert shape.code / modules >= LEAST_MODULE_MM
    assert shape.across * shape.width <= 210 - 2 * 8  # the marks, on A4 as on letter
    assert shape.down * shape.height <= 279.4 - 2 * 8


pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio(name="Slow Tide", email="hello@slowtide.example", time_zone="UTC")


def poured(bench, **more):
    return log(
        bench,
        poured_at=datetime(2026, 4, 1, 12, tzinfo=UTC),
        layers={"base": LayerLog(D(100))},
        **more,
    )


def coat(bench, pour, kit=None):
    """Coat a pour on 5 May; the kits of the tests cure in a week, 168 hours."""
    return log_topcoat(
        pour=pour,
        by=None,
        kit=kit or bench.kit,
        mixed_ml=D(60),
        minutes=D(10),
        coated_at=datetime(2026, 5, 5, 12, tzinfo=UTC),
    )


def packed(bench, pour, count=3, name="Set of coasters") -> PieceSet:
    pieces = list(pour.pieces.filter(state="good", piece_set=None)[:count])
    return pack_set(studio=bench.studio, by=None, name=name, pieces=pieces, minutes=D(5))


def pages_of(answer):
    assert answer["Content-Type"] == "application/pdf", answer.content
    return [
        " ".join(page.extract_text().split()) for page in PdfReader(BytesIO(answer.content)).pages
    ]


def codes_of(answer):
    picture = pypdfium2.PdfDocument(answer.content)[0].render(scale=300 / 72, grayscale=True)
    return [one.text for one in zxingcpp.read_barcodes(picture.to_pil(), formats=QR)]


def test_a_card_says_what_it_is_and_what_to_mind(bench):
    pour = poured(bench)
    coat(bench, pour)
    row = packed(bench, pour)
    viewer = member(bench.studio, "viewer").client

    answer = viewer.get(reverse("set-care-pdf", args=[row.number]))

    (page,) = pages_of(answer)
    for told in (
        "Slow Tide",
        "Set of coasters",
        "3 pieces, bloom in Tide, poured by hand in April 2026",
        "a heat limit of 50 °C",
        "Not for contact with food",
        "Use it from 12 May 2026",
        "No dishwasher",
        f"Name the code S{row.number}. hello@slowtide.example",
    ):
        assert told in page
    assert codes_of(answer) == [
        f"{settings.SITE_URL}{reverse('set-scan', args=[bench.studio.pk, row.number])}"
    ]
    assert viewer.get(reverse("set-care-pdf", args=[row.number])).content == answer.content


def test_a_kit_without_a_limit_and_a_bare_piece_have_words_of_their_own(bench):
    unknown = ResinKitFactory(
        studio=bench.studio, resin=bench.resin, hardener=bench.hardener, heat_limit_c=None
    )
    coated, bare = poured(bench), poured(bench)
    coat(bench, coated, unknown)
    viewer = member(bench.studio, "viewer").client

    (first,) = pages_of(viewer.get(reverse("pour-care-pdf", args=[coated.number])))
    (second,) = pages_of(viewer.get(reverse("pour-care-pdf", args=[bare.number])))

    assert first.count("No heat limit is known for this resin: put nothing hot") == 3
    assert f"P{coated.number}-1" in first
    assert second.count("put nothing hot or wet on it") == 3
    # A film of up to 1.5 mm is dry through after four weeks, as the drying advice has it.
    assert second.count("Use it from 29 April 2026") == 3


def test_tags_are_one_for_each_piece_and_small(bench):
    pour = poured(bench)
    coat(bench, pour)
    row = packed(bench, pour)
    viewer = member(bench.studio, "viewer").client
    address = reverse("set-care-pdf", args=[row.number])

    (page,) = pages_of(viewer.get(address, {"what": "tags", "each": "on", "copies": 2}))
    many = pages_of(viewer.get(address, {"what": "tags", "copies": 33}))

    assert page.count("mat under hot cups") == page.count("Not for food") == 6
    assert page.count("Use from 12 May 2026") == 6
    assert [one.count("Slow Tide") for one in many] == [32, 1]


def test_the_page_offers_to_print_and_says_what_is_wrong(bench):
    pour = poured(bench)
    row = packed(bench, pour)
    viewer = member(bench.studio, "viewer").client
    page = viewer.get(reverse("set-care", args=[row.number])).content.decode()
    assert "put nothing hot or wet on it" in page
    assert viewer.get(reverse("pour-care", args=[pour.number])).status_code == 200

    too_many = viewer.get(reverse("set-care-pdf", args=[row.number]), {"copies": 51})
    assert too_many.status_code == 422
    unpack_set(piece_set=row, by=None, why="a chip")
    refused = viewer.get(reverse("set-care-pdf", args=[row.number]))
    assert refused.status_code == 422
    assert "was taken apart" in refused.content.decode()


def test_the_api_prints_the_same(bench):
    pour = poured(bench)
    coat(bench, pour)
    row = packed(bench, pour)
    viewer = member(bench.studio, "viewer")

    by_set = viewer.api.get(f"/api/v1/sets/{row.number}/care/", {"each": True, "what": "tags"})
    (page,) = pages_of(by_set)
    assert page.count("Not for food") == 3
    piece = pour.pieces.filter(state="good").first()
    (card,) = pages_of(viewer.api.get(f"/api/v1/pieces/{piece.pk}/care/"))
    assert f"P{pour.number}-{piece.number}" in card
    failed = pour.pieces.get(state="failed")
    assert viewer.api.get(f"/api/v1/pieces/{failed.pk}/care/").status_code == 409


def test_a_code_opens_the_work_in_its_own_studio(bench):
    pour = poured(bench)
    row = packed(bench, pour)
    viewer = member(bench.studio, "viewer").client
    stranger = member(working_studio().studio, "owner").client
    for name, thing, page in (
        ("set-scan", row, "set"),
        ("pour-scan", pour, "pour"),
    ):
        here = reverse(name, args=[bench.studio.pk, thing.number])
        assert viewer.get(here).url == reverse(page, args=[thing.number])
        assert stranger.get(here).status_code == 404
