"""Labels on paper: read back from the PDF in millimetres, and their codes by another's reader."""

from datetime import date
from io import BytesIO

import pypdfium2
import pytest
import zxingcpp
from django.conf import settings
from django.urls import reverse
from pypdf import PdfReader

from inventory.errors import LabelsRefused
from inventory.models import Bottle
from inventory.stock import labels
from inventory.stock.labelling import (
    LEAST_MODULE_MM,
    STOCKS,
    LabelError,
    design,
    own_stock,
    qr_code,
    spots,
    usual_stock,
)
from tests.conftest import member
from tests.factories.inventory import MaterialFactory
from tests.factories.studio import MembershipFactory, StudioFactory
from tests.inventory.pages import words
from tests.inventory.stock.shelves import receive

POINT_MM = 25.4 / 72
SHEETS = [stock for stock in STOCKS.values() if not stock.is_single]


def address(bottle):
    return f"https://tidewater.example.org/b/7/{bottle.code}/"


def drawn(bottles, stock, **options):
    return labels.labels_sheet(bottles[0].studio, bottles, stock, address=address, **options)


def texts(pdf):
    """Return {text: (page, left, top of its line)} of a PDF, [mm], as another library reads it."""
    found = {}
    for number, page in enumerate(PdfReader(BytesIO(pdf)).pages):
        height = float(page.mediabox.height)

        def note(text, current, matrix, font, size, number=number, height=height):
            if text.strip():
                x, y = (
                    matrix[4] * current[0] + matrix[5] * current[2] + current[4],
                    matrix[4] * current[1] + matrix[5] * current[3] + current[5],
                )
                found.setdefault(text.strip(), (number, x * POINT_MM, (height - y) * POINT_MM))

        page.extract_text(visitor_text=note)
    return found


def codes_read(pdf, page=0, dpi=300):
    """Return [(text, centre in mm, error correction)] of the QR codes on a page drawn at a
    printer's 300 dots per inch, by ZXing, a reader of ISO/IEC 18004 codes that is not ours."""
    picture = pypdfium2.PdfDocument(pdf)[page].render(scale=dpi / 72, grayscale=True).to_pil()
    found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
    corners = [(one, one.position) for one in found]
    return [
        (
            one.text,
            (
                (spot.top_left.x + spot.bottom_right.x) / 2 * 25.4 / dpi,
                (spot.top_left.y + spot.bottom_right.y) / 2 * 25.4 / dpi,
            ),
            one.ec_level,
        )
        for one, spot in corners
    ]


@pytest.fixture
def bottles(studio):
    white = MaterialFactory(studio=studio, name="Titanium white", pigments="PW6", swatch="#ffffff")
    receive(white, *[(500, 10)] * 3, received_on=date(2026, 5, 4))
    Bottle.objects.update(place="shelf 2", opened_on=date(2026, 5, 6), expires_on=date(2027, 11, 5))
    return list(labels.bottles_to_label(studio))


def test_sheets_are_centred_on_the_standard_papers():
    papers = {"A4": (210, 297), "Letter": (215.9, 279.4)}  # ISO 216; 8.5 x 11 in

    for stock in SHEETS:
        assert (stock.page_width, stock.page_height) == papers[stock.page]
        right = stock.left + stock.columns * stock.width + (stock.columns - 1) * stock.gap_x
        bottom = stock.top + stock.rows * stock.height
        assert right + stock.left == pytest.approx(stock.page_width)
        assert bottom + stock.top == pytest.approx(stock.page_height)
        assert stock.left >= 0 and stock.top >= 0


def test_stocks_are_named_by_page_count_and_size():
    assert STOCKS["a4-3x8-70x37"].name == "A4, 3 × 8, 70 × 37 mm"
    assert STOCKS["letter-3x10-66.675x25.4"].name == "Letter, 3 × 10, 66.7 × 25.4 mm"
    assert STOCKS["single-62x29"].name == "Label printer, 62 × 29 mm, one a page"
    assert usual_stock("letter").page == "Letter"


@pytest.mark.parametrize("stock", STOCKS.values(), ids=list(STOCKS))
def test_every_stock_holds_a_code_that_can_be_read(stock):
    long = qr_code("https://pourwright.tidewater-studio.example.org/b/1234/B0012345/")

    layout = design(stock, long.symbol_size(border=4)[0], 8)

    assert layout.module >= LEAST_MODULE_MM
    assert layout.code + 2 * layout.inset_y <= stock.height + 1e-9
    assert layout.words_left + layout.words_width + layout.inset_x == pytest.approx(stock.width)
    assert layout.lines >= 2


def test_the_code_has_level_m_and_four_quiet_modules():
    # ISO/IEC 18004:2015, table 7: version 3 at level M holds 42 bytes; 29 modules a side.
    code = qr_code("x" * 42)

    assert (code.version, code.error, code.symbol_size(border=4)[0]) == (3, "M", 29 + 8)
    assert qr_code("x" * 43).version == 4


def test_a_stock_too_small_is_refused_in_words(bottles):
    tiny = own_stock(page_width=30, page_height=10, columns=1, rows=1, width=30, height=10)

    with pytest.raises(LabelsRefused, match=r"30 × 10 mm are too small .* at least 30 × 15 mm"):
        drawn(bottles, tiny)


@pytest.mark.parametrize(
    ("changed", "words"),
    (
        ({"columns": 4}, "need 180 mm across, and the page has 140 mm"),
        ({"rows": 9}, "down"),
        ({"gap_x": 12}, "across"),
        ({"left": -1}, "0 mm or more"),
        ({"height": 0}, "Give the page"),
        ({"width": float("nan")}, "Give the page"),
        ({"columns": 0}, "at least one column"),
        ({"columns": 140, "rows": 90, "width": 1, "height": 1}, "at most 400"),
    ),
)
def test_own_measures_that_cannot_be_are_refused(changed, words):
    measures = {"page_width": 140, "page_height": 90, "columns": 3, "rows": 2}
    measures |= {"width": 45, "height": 45}
    assert own_stock(**measures).per_page == 6

    with pytest.raises(LabelError, match=words):
        own_stock(**measures | changed)


def test_a_sheet_used_in_part_goes_on_at_its_first_free_label():
    stock = STOCKS["a4-3x7-63.5x38.1"]

    first, second, third = spots(stock, 3, start=20)

    # Labels 20 and 21 are the last two of the seventh row; the third is the first of a new page.
    assert (first.page, second.page, third.page) == (0, 0, 1)
    assert first.x == pytest.approx((210 - 3 * 63.5 - 2 * 2.54) / 2 + 63.5 + 2.54)
    assert first.y == pytest.approx((297 - 7 * 38.1) / 2 + 6 * 38.1)
    with pytest.raises(LabelError, match="labels 1 to 21"):
        list(spots(stock, 1, start=22))


@pytest.mark.parametrize("stock", STOCKS.values(), ids=list(STOCKS))
def test_labels_stand_where_the_stock_has_them(bottles, stock):
    start = min(2, stock.per_page)

    pdf = drawn(bottles, stock, start=start)

    box = PdfReader(BytesIO(pdf)).pages[0].mediabox
    assert float(box.width) * POINT_MM == pytest.approx(stock.page_width, abs=0.05)
    assert float(box.height) * POINT_MM == pytest.approx(stock.page_height, abs=0.05)
    said = texts(pdf)
    read = codes_read(pdf)
    for bottle, spot in zip(bottles, spots(stock, len(bottles), start), strict=True):
        page, x, y = said[bottle.code]
        assert page == spot.page
        assert spot.x < x < spot.x + stock.width
        assert spot.y < y < spot.y + stock.height
        if page == 0:
            ((_, (middle_x, middle_y), level),) = [one for one in read if one[0] == address(bottle)]
            layout = design(stock, qr_code(address(bottle)).symbol_size(border=4)[0], 5)
            assert level == "M"
            assert middle_x == pytest.approx(spot.x + layout.inset_x + layout.code / 2, abs=0.3)
            assert middle_y == pytest.approx(spot.y + layout.inset_y + layout.code / 2, abs=0.3)


def test_a_label_says_what_it_has_room_for(bottles):
    def lines(stock):
        return set(texts(drawn(bottles[:1], STOCKS[stock])))

    assert lines("letter-2x5-101.6x50.8") == {
        "B0001",
        "Titanium white",
        "PW6",
        "Opened 6 May 2026",
        "Keeps until 5 Nov 2027",
        "shelf 2",
    }
    narrow = lines("a4-5x13-38.1x21.2")
    assert {"B0001", "Titanium white", "Open 6 May 26", "Until 5 Nov 27"} <= narrow


def test_what_is_not_opened_has_a_line_to_write_on(bottles):
    bottles[0].opened_on = None

    assert any(text.startswith("Opened ____") for text in texts(drawn(bottles[:1], SHEETS[0])))


def test_copies_stand_side_by_side_and_the_bytes_are_the_same(bottles):
    stock = STOCKS["a4-4x10-48.5x25.4"]
    pdf = drawn(bottles, stock, copies=2)

    read = sorted(codes_read(pdf), key=lambda one: (round(one[1][1]), one[1][0]))

    assert [text for text, *_ in read] == [address(one) for one in bottles for _ in range(2)]
    assert drawn(bottles, stock, copies=2) == pdf


def test_none_and_too_many_are_refused(bottles):
    with pytest.raises(LabelsRefused, match="No bottle is chosen"):
        labels.labels_sheet(bottles[0].studio, [], SHEETS[0], address=address)
    with pytest.raises(LabelsRefused, match="more than 500"):
        drawn(bottles, SHEETS[0], copies=200)


def test_the_page_offers_bottles_by_delivery_by_tick_or_all(viewer, studio, bottles, other_owner):
    page = viewer.client.get(reverse("labels"))
    one = viewer.client.get(reverse("labels"), {"bottle": bottles[1].code})
    theirs = MaterialFactory(studio=other_owner.studio, name="Theirs")
    (foreign,) = receive(theirs, (10, 1))

    assert "every bottle on the shelf, 3 in all" in words(page)
    assert [row.code for row in one.context["page"]] == [bottles[1].code]
    for asked in ({"bottle": "NONE"}, {"material": theirs.pk}, {"delivery": foreign.pk}):
        assert "No bottle to label" in words(viewer.client.get(reverse("labels"), asked))
    assert viewer.client.get(reverse("labels"), {"delivery": "x"}).status_code == 404


def test_after_a_delivery_its_labels_are_a_tap_away(maker, studio):
    paint = MaterialFactory(studio=studio, name="Blue")
    receive(paint, (10, 1))
    told = {"bottles": 2, "size": "500 mL", "price": "9", "received_on": studio.today()}

    page = maker.client.post(reverse("receive", args=[paint.pk]), told, follow=True)

    delivery = studio.deliveries.get()
    link = f"{reverse('labels')}?delivery={delivery.pk}"
    assert f'<a href="{link}">Print labels</a>' in page.content.decode()
    shown = maker.client.get(link).context["page"]
    assert {row.code for row in shown} == {"B0002", "B0003"}


def test_the_page_prints_what_is_ticked_and_says_what_is_wrong(viewer, bottles):
    def ask(**told):
        return viewer.client.get(reverse("labels-sheet"), told)

    ticked = ask(bottle=[bottles[0].code, bottles[2].code], stock="single-62x29", which="ticked")
    own = ask(stock="own", page_width=100, page_height=50, columns=1, rows=1, width=100, height=50)

    assert ticked["Content-Type"] == "application/pdf"
    assert len(PdfReader(BytesIO(ticked.content)).pages) == 2
    (read,) = codes_read(ticked.content)
    here = reverse("bottle-scan", args=[viewer.studio.pk, bottles[0].code])
    assert read[0] == f"{settings.SITE_URL}{here}"
    assert len(PdfReader(BytesIO(own.content)).pages) == 3
    for told, sentence in (
        ({"which": "ticked"}, "No bottle is chosen"),
        ({"stock": "own"}, "Measure your own labels first: Page, width"),
        ({"stock": "a4-3x8-70x37", "start": 25}, "A page has labels 1 to 24"),
        ({"stock": "nothing"}, "Select a valid choice"),
    ):
        refused = ask(**told)
        assert (refused.status_code, sentence in words(refused)) == (422, True)


def test_the_test_sheet_has_a_line_round_every_label(viewer):
    stock = STOCKS["a4-3x7-63.5x38.1"]
    answer = viewer.client.get(reverse("labels-test"), {"stock": stock.key})

    picture = pypdfium2.PdfDocument(answer.content)[0].render(scale=300 / 72, grayscale=True)
    pixels = picture.to_pil().load()

    def is_inked(x_mm, y_mm):
        near = [
            pixels[round(x_mm * 300 / 25.4) + step, round(y_mm * 300 / 25.4)] for step in (-1, 0, 1)
        ]
        return min(near) < 128

    for spot in spots(stock, stock.per_page):
        assert is_inked(spot.x, spot.y + 10)
        assert not is_inked(spot.x + 10, spot.y + 10)


def test_a_scan_opens_the_bottle_after_signing_in(viewer, stranger, other_owner, bottles):
    Bottle.objects.filter(pk=bottles[0].pk).update(code="B-MINE")
    here = reverse("bottle-scan", args=[viewer.studio.pk, "B-MINE"])
    receive(MaterialFactory(studio=other_owner.studio), (10, 1))
    Bottle.objects.filter(studio=other_owner.studio).update(code="B-MINE")

    assert viewer.client.get(here)["Location"] == reverse("bottle", args=["B-MINE"])
    assert stranger.client.get(here)["Location"] == f"/sign-in/?next={here}"
    assert other_owner.client.get(here).status_code == 404  # though it has a bottle of this code
    viewer.user.set_password("a long enough pass phrase")
    viewer.user.save()
    told = {"username": viewer.user.username, "password": "a long enough pass phrase"}
    signed_in = stranger.client.post(f"/sign-in/?next={here}", told | {"next": here})
    assert signed_in["Location"] == here


def test_who_works_in_two_studios_goes_on_in_the_bottles(viewer, bottles):
    second = StudioFactory()
    MembershipFactory(studio=second, user=viewer.user, role="maker")
    (there,) = receive(MaterialFactory(studio=second, name="Gold"), (10, 1))

    page = viewer.client.get(reverse("bottle-scan", args=[second.pk, there.code]), follow=True)

    assert "Gold" in words(page)
    assert viewer.client.get(reverse("bottles")).context["studio"] == second
    assert viewer.client.get(reverse("bottle-scan", args=[second.pk, "NONE"])).status_code == 404


def test_the_api_prints_the_same(viewer, other_owner, bottles):
    told = {"bottle": [bottles[0].code, bottles[1].code], "stock": "a4-3x8-70x37"}

    answer = viewer.api.get("/api/v1/labels/", told)
    page = viewer.client.get(reverse("labels-sheet"), told)
    check = viewer.api.get("/api/v1/labels/test/", {"stock": "single-62x29"})
    wrong = viewer.api.get("/api/v1/labels/", {"stock": "own", "page_width": 5})
    none = other_owner.api.get("/api/v1/labels/", told)

    assert answer.content == page.content
    assert check["Content-Type"] == "application/pdf"
    assert (wrong.status_code, "columns" in wrong.data["fields"]) == (400, True)
    assert (none.status_code, none.data["code"]) == (409, "labels_refused")


@pytest.mark.parametrize("rows", (1, 3))
def test_labels_ask_the_same_for_one_bottle_as_for_three(
    studio, bottles, django_assert_num_queries, rows
):
    viewer = member(studio, "viewer")
    codes = [bottle.code for bottle in bottles[:rows]]

    with django_assert_num_queries(4):  # session, person, membership, bottles
        viewer.client.get(reverse("labels-sheet"), {"bottle": codes})
    with django_assert_num_queries(5):  # how many there are, too
        viewer.client.get(reverse("labels"), {"bottle": codes})
