"""The pages and endpoints of files in and out: who may, what they answer, what they ask for."""

import base64
import io
import re

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Material
from inventory.stock import imports
from inventory.stock.imports import SHEETS
from pricing.exports import LISTS, export_studio
from studio.tables import TableError, read_table
from tests.conftest import member
from tests.factories.everything import one_of_everything, refund_all
from tests.factories.inventory import MaterialFactory
from tests.factories.studio import StudioFactory
from tests.pricing.test_restoring import elsewhere
from tests.studio.test_routes import ROLES

GOOD = b"Name,Kind\nCobalt teal,paint\n=1+1,paint\n"
BAD = b"Name,Kind\nCobalt teal,paint\nOdd,stone\n"
IMPORT = "/in-and-out/import/materials/"
# Each list is one query; with holds on materials, their sums are parts of it.
PAGE_QUERIES = 4  # the session, the person, the membership with its studio, the rows


def upload(body, name="list.csv"):
    return SimpleUploadedFile(name, body, content_type="text/csv")


def hidden(page, name):
    """Return the value of a hidden input."""
    (tag,) = re.findall(rf'<input[^>]* name="{name}"[^>]*>', page)
    return re.search(r'value="([^"]*)"', tag)[1]


def looked_at(person, body):
    """Upload a file; return the page that shows it, and what its form would send."""
    answer = person.client.post(IMPORT, {"file": upload(body)})
    page = answer.content.decode()
    names = ("kept", "name", "shown", "once")
    sends = {name: hidden(page, name) for name in names} if 'name="kept"' in page else {}
    return answer, page, sends


# Pages


def test_a_file_is_shown_and_then_brought_in(maker, studio):
    answer, page, sends = looked_at(maker, GOOD)
    assert answer.status_code == 200
    assert "Nothing has changed yet" in page and "Bring in 2 rows" in page
    assert not studio.materials.exists()

    done = maker.client.post(IMPORT, sends, follow=True)

    assert "Materials are in: 2 new, 0 changed, 0 the same." in done.content.decode()
    assert set(studio.materials.values_list("name", flat=True)) == {"Cobalt teal", "=1+1"}


def test_sending_the_page_twice_brings_in_once(maker, studio):
    _, _, sends = looked_at(maker, GOOD)

    answers = [maker.client.post(IMPORT, sends) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert studio.materials.count() == 2
    assert "Everything is here already" in looked_at(maker, GOOD)[1]


def test_a_wrong_row_is_shown_and_offers_nothing_to_bring_in(maker, studio):
    _, page, sends = looked_at(maker, BAD)

    assert "Kind: Choose one of: Paint" in page and "line 3" in page
    assert sends == {}


def test_what_changed_meanwhile_is_shown_again_and_nothing_is_kept(maker, studio):
    _, _, sends = looked_at(maker, GOOD)
    Material.objects.create(studio=studio, name="Cobalt teal", kind="medium")

    answer = maker.client.post(IMPORT, sends)

    assert answer.status_code == 422
    page = answer.content.decode()
    assert "has changed since this was shown" in page and "Changed" in page
    assert studio.materials.count() == 1
    again = sends | {"shown": hidden(page, "shown"), "once": hidden(page, "once")}
    assert maker.client.post(IMPORT, again).status_code == 302


def test_a_wrong_row_sent_past_the_page_is_refused(maker, studio):
    _, _, sends = looked_at(maker, GOOD)
    answer = maker.client.post(
        IMPORT, sends | {"kept": base64.urlsafe_b64encode(BAD).decode(), "shown": "x"}
    )

    assert answer.status_code == 422
    assert "1 of 2 rows are wrong" in answer.content.decode()
    assert not studio.materials.exists()


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b"Name,Kind\nA\0,paint\n", "This is no table"),
        (b"x" * 2_000_001, "larger than 2 MB"),
        (b"PK\x03\x04", "cannot be read"),
        (b"", "empty"),
    ],
)
def test_a_file_that_is_no_table_is_refused_beside_its_field(maker, body, sentence):
    answer = maker.client.post(IMPORT, {"file": upload(body)})

    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def test_a_kept_file_that_was_cut_is_refused_in_words(maker):
    answer = maker.client.post(IMPORT, {"kept": "abc", "shown": "x"}, follow=True)

    assert "did not come through whole" in answer.content.decode()


@pytest.mark.parametrize("kind", list(SHEETS))
def test_every_kind_has_its_page_and_its_templates(maker, kind):
    page = maker.client.get(reverse("import", args=[kind])).content.decode()
    files = [
        maker.client.get(reverse("import-template", args=[kind, one])) for one in ("csv", "xlsx")
    ]

    assert all(column.heading in page for column in SHEETS[kind].columns)
    assert [file.status_code for file in files] == [200, 200]
    assert f'filename="{kind}-template.csv"' in files[0].headers["Content-Disposition"]


def test_what_is_not_known_is_a_404(owner):
    for address in ("import/gold/", "import/materials/template.exe", "gold.csv", "bottles.exe"):
        assert owner.client.get(f"/in-and-out/{address}").status_code == 404


PAGES = {
    "/in-and-out/": "viewer",
    "/in-and-out/bottles.csv": "viewer",
    IMPORT: "maker",
    f"{IMPORT}template.csv": "maker",
    "/in-and-out/studio.zip": "owner",
    "/in-and-out/studio/": "owner",
}


@pytest.mark.django_db
@pytest.mark.parametrize("role", ROLES)
def test_each_role_may_what_it_may(request, role):
    person = request.getfixturevalue(role)
    may = {page: ROLES.index(role) <= ROLES.index(least) for page, least in PAGES.items()}

    status = {page: person.client.get(page).status_code for page in PAGES}

    assert status == {page: 200 if allowed else 403 for page, allowed in may.items()}


def test_the_page_offers_what_the_role_may(viewer, owner):
    pages = [person.client.get("/in-and-out/").content.decode() for person in (viewer, owner)]

    assert [IMPORT in page for page in pages] == [False, True]
    assert ["studio.zip" in page for page in pages] == [False, True]
    shown = [[name for name in LISTS if f"/in-and-out/{name}.xlsx" in page] for page in pages]
    assert shown[1] == list(LISTS)
    # What customers are asked for and pay, and what channels keep, is not for viewers.
    of_prices = {"quotes", "sales", "refunds", "channels", "payments", "invoices", "consignments"}
    assert set(shown[0]) == set(LISTS) - of_prices


def test_the_stock_page_and_all_pages_lead_there(viewer):
    for page in ("/stock/", "/more/"):
        assert 'href="/in-and-out/"' in viewer.client.get(page).content.decode()


@pytest.mark.parametrize("rows", (1, 3))
@pytest.mark.parametrize("name", list(LISTS))
def test_every_list_asks_the_same_for_few_and_many(name, rows, db, django_assert_num_queries):
    studio = StudioFactory()
    for _ in range(rows):
        one_of_everything(studio)
    if name == "refunds":
        refund_all(studio)
    maker = member(studio, "maker", sees_costs=True)

    with django_assert_num_queries(PAGE_QUERIES + 1):  # how long it is, too
        answer = maker.client.get(f"/in-and-out/{name}.csv")

    if name != "batches":
        assert len(read_table(answer.content).rows) >= rows


@pytest.mark.parametrize("extension", ("csv", "xlsx"))
def test_a_list_shows_its_studio_and_no_other(studio, viewer, other_owner, extension):
    one = one_of_everything(studio)
    lists = ("materials", "suppliers", "packs", "bottles", "ledger", "customers")
    names = (one.material.name, one.supplier.name, one.customer.name)

    mine, theirs = (
        "".join(texts(person, f"/in-and-out/{name}.{extension}") for name in lists)
        for person in (viewer, other_owner)
    )

    assert [name for name in names if name not in mine] == []
    assert [name for name in names if name in theirs] == []


def texts(person, address):
    """Return what the rows of a file say; nothing for a list without rows."""
    try:
        return str(read_table(person.client.get(address).content).rows)
    except TableError as error:
        assert "no rows below" in str(error)
        return ""


def test_a_whole_studio_goes_out_and_into_an_empty_one(owner, studio, other_owner):
    one = one_of_everything(studio)
    body = owner.client.get("/in-and-out/studio.zip").getvalue()

    done = other_owner.client.post(
        "/in-and-out/studio/", {"file": upload(body, "studio.zip")}, follow=True
    )
    again = other_owner.client.post("/in-and-out/studio/", {"file": upload(body, "studio.zip")})

    assert "The studio is here" in done.content.decode()
    assert other_owner.studio.bottles.get(code=one.bottle.code).remaining == one.bottle.remaining
    assert again.status_code == 422
    assert "only be brought into an empty one" in again.content.decode()


# Endpoints


def asked(person, body, kind="materials", **more):
    return person.api.post(
        f"/api/v1/imports/{kind}/", {"file": upload(body), **more}, format="multipart"
    )


def test_the_api_shows_and_then_brings_in(maker, studio):
    shown = asked(maker, GOOD)
    assert (shown.status_code, shown.data["applied"], studio.materials.count()) == (200, False, 0)

    done = asked(maker, GOOD, apply="true")

    assert (done.status_code, done.data["applied"]) == (200, True)
    assert done.data["counts"] == {"new": 2, "changed": 0, "same": 0, "wrong": 0}
    assert studio.materials.count() == 2
    assert asked(maker, GOOD, apply="true").data["counts"]["same"] == 2


def test_the_api_refuses_and_names_every_cell_at_fault(maker, studio):
    refused = asked(maker, BAD, apply="true")

    assert (refused.status_code, refused.data["code"]) == (409, "import_refused")
    assert list(refused.data["fields"]) == ["lines.3.Kind"]
    assert [row["fate"] for row in asked(maker, BAD).data["rows"]] == ["new", "wrong"]
    assert not studio.materials.exists()


def test_a_repeated_key_repeats_the_answer(maker, studio):
    answers = [
        maker.api.post(
            "/api/v1/imports/materials/",
            b'--b\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\n'
            + GOOD
            + b'\r\n--b\r\nContent-Disposition: form-data; name="apply"\r\n\r\ntrue\r\n--b--\r\n',
            content_type="multipart/form-data; boundary=b",
            HTTP_IDEMPOTENCY_KEY="once",
        )
        for _ in range(2)
    ]

    assert [answer.data["counts"]["new"] for answer in answers] == [2, 2]
    assert studio.materials.count() == 2


def test_the_api_names_what_is_missing(maker):
    answer = maker.api.post("/api/v1/imports/materials/", {}, format="multipart")

    assert (answer.status_code, set(answer.data["fields"])) == (400, {"file"})


def test_the_api_gives_every_list_in_both_formats(maker, studio):
    one_of_everything(studio)
    names = [one["name"] for one in maker.api.get("/api/v1/exports/").data["results"]]
    assert names == list(LISTS)

    for extension in ("csv", "xlsx"):
        body = maker.api.get("/api/v1/exports/bottles/", {"as": extension}).content
        assert read_table(body).rows[0].cells["left"] == "100"
    assert maker.api.get("/api/v1/exports/bottles/", {"as": "exe"}).status_code == 400


def test_the_api_takes_a_whole_studio_into_an_empty_one(owner, studio, other_owner):
    one_of_everything(studio)
    body = owner.api.get("/api/v1/studio-archive/").getvalue()
    stream = io.BytesIO()
    export_studio(studio, stream)
    assert body == stream.getvalue()

    answers = [
        other_owner.api.post(
            "/api/v1/studio-archive/", {"file": upload(body, "a.zip")}, format="multipart"
        )
        for _ in range(2)
    ]

    assert [answer.status_code for answer in answers] == [201, 409]
    assert other_owner.studio.bottles.count() == studio.bottles.count()
    assert answers[1].data["code"] == "transfer_refused"


def test_a_preview_only_reads(maker, studio):
    with CaptureQueriesContext(connection) as asked_for:
        maker.client.post(IMPORT, {"file": upload(GOOD)})

    wrote = [one["sql"] for one in asked_for.captured_queries if "_material" in one["sql"]]
    assert wrote and all(sql.startswith("SELECT") for sql in wrote)


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
@pytest.mark.parametrize("way", ("page", "api"))
def test_a_file_is_read_and_planned_while_others_write(studio, monkeypatch, way):
    person, other, sheet = member(studio, "maker"), StudioFactory(), SHEETS["materials"]
    sends = looked_at(person, GOOD)[2] if way == "page" else {}
    planned = type(sheet).plan

    def plan(self, *told):
        elsewhere(lambda: MaterialFactory(studio=other))
        return planned(self, *told)

    monkeypatch.setattr(type(sheet), "plan", plan)
    if way == "page":
        person.client.post(IMPORT, sends)
    else:
        person.api.post(
            "/api/v1/imports/materials/",
            {"file": upload(GOOD), "apply": True},
            format="multipart",
            headers={"Idempotency-Key": "once"},
        )

    assert (studio.materials.count(), other.materials.count()) == (2, 1)


def test_what_was_changed_between_plan_and_lock_is_planned_anew(studio, monkeypatch):
    MaterialFactory(studio=studio, name="Cobalt teal", kind="paint")
    ready = imports.made_ready(
        studio=studio, sheet=SHEETS["materials"], body=b"Name,Kind\nCobalt teal,medium\n"
    )
    studio.materials.update(notes="told meanwhile")

    imports.carry_out(studio=studio, by=None, ready=ready)

    material = studio.materials.get()
    assert (material.kind, material.notes) == ("medium", "told meanwhile")
