"""The API of pictures: multipart in, JPEG out, the studio's own alone."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from pricing.bench.pictures import MOST
from pricing.models import Picture
from tests.factories.pricing import CommissionFactory, PictureFactory, PourFactory, photograph

PICTURES = "/api/v1/pictures/"
HEAD = b"Content-Disposition: form-data"


def file(colour="#3a6ea5", body=None):
    return SimpleUploadedFile("IMG_0001.jpg", photograph(colour) if body is None else body)


def send(person, files, **more):
    return person.api.post(PICTURES, {"files": files, **more}, format="multipart")


@pytest.fixture
def commission(studio):
    return CommissionFactory(studio=studio, number=3)


def test_pictures_are_added_read_described_and_removed(maker, commission):
    done = send(maker, [file(), file("#fff")], commission=3, kind="sketch", caption="Waves")

    assert done.status_code == 201
    first, second = done.json()["pictures"]
    assert {**first, "id": 0, "added_at": "", "sha256": "", "size_bytes": 0} == {
        "id": 0,
        "commission": 3,
        "pour": None,
        "piece": None,
        "set": None,
        "number": 1,
        "kind": "sketch",
        "caption": "Waves",
        "width": 32,
        "height": 24,
        "size_bytes": 0,
        "sha256": "",
        "by": maker.user.username,
        "added_at": "",
    }
    where = f"{PICTURES}{second['id']}/"
    assert maker.api.get(where).json() == second
    read = maker.api.get(where)["ETag"]
    changed = maker.api.patch(where, {"caption": "Foam"}, headers={"If-Match": read}).json()
    stale = maker.api.delete(where, headers={"If-Match": read})
    assert (stale.status_code, stale.json()["code"]) == (412, "changed_meanwhile")
    assert changed == second | {"caption": "Foam"}
    assert maker.api.delete(where).status_code == 204
    assert maker.api.get(where).status_code == 404
    assert [row.number for row in commission.pictures.all()] == [1]


def test_the_bytes_are_read_in_both_sizes(viewer, commission):
    big = PictureFactory(studio=viewer.studio, pour=None, commission=commission)
    where = f"{PICTURES}{big.pk}/file/"

    full, small, odd = (viewer.api.get(where + rest) for rest in ("", "?size=small", "?size=x"))

    assert (full.content, small.content) == (bytes(big.full), bytes(big.small))
    assert Image.open(io.BytesIO(full.content)).size == (big.width, big.height)
    for answer in (full, small):
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["Cache-Control"] == "private, no-cache"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert (odd.status_code, set(odd.json()["fields"])) == (400, {"size"})


def test_a_list_can_be_of_one_thing(viewer, studio, commission):
    pour = PourFactory(studio=studio, number=3)
    wanted = PictureFactory(studio=studio, pour=None, commission=commission)
    came = PictureFactory(studio=studio, pour=pour)

    def listed(rest=""):
        return [row["id"] for row in viewer.api.get(PICTURES + rest).json()["results"]]

    assert listed() == [came.pk, wanted.pk]
    assert listed("?commission=3") == [wanted.pk]
    assert listed("?pour=3") == [came.pk]
    assert listed("?set=3") == []
    assert viewer.api.get(f"{PICTURES}?pour=x").status_code == 400


@pytest.mark.parametrize(
    ("files", "more", "fault"),
    [
        ([], {"commission": 3}, "files"),
        ([b"no picture"], {"commission": 3}, "files.0"),
        ([None, b"no picture"], {"commission": 3}, "files.1"),
        ([None] * (MOST + 1), {"commission": 3}, "files"),
        ([None], {}, "whole"),
        ([None], {"commission": 3, "pour": 3}, "whole"),
        ([None], {"commission": 77}, "commission"),
        ([None], {"commission": 3, "mood": "calm"}, "mood"),
        ([None], {"commission": 3, "kind": "nonsense"}, "kind"),
        ([None], {"commission": 3, "caption": "x" * 201}, "caption"),
    ],
)
def test_what_cannot_be_read_names_its_field_and_adds_nothing(
    maker, commission, files, more, fault
):
    PourFactory(studio=maker.studio, number=3)

    answer = send(maker, [file(body=body) for body in files], **more)

    assert (answer.status_code, list(answer.json().get("fields", ["whole"]))) == (400, [fault])
    assert fault != "whole" or "Name one thing" in answer.json()["detail"]
    assert not Picture.objects.exists()


def test_a_refusal_says_what_to_do(maker, commission):
    send(maker, [file() for _ in range(MOST)], commission=3)

    full = send(maker, [file()], commission=3)
    unfit = send(maker, [file()], commission=3, kind="fault")

    assert (full.status_code, full.json()["code"]) == (409, "picture_refused")
    assert "Remove one first" in full.json()["detail"]
    assert (unfit.status_code, unfit.json()["code"]) == (409, "picture_refused")


def test_a_key_lets_a_sending_be_repeated_however_it_is_strung_together(maker, commission):
    def sent(colour, boundary):
        body = b"".join(
            b"--%s\r\nContent-Disposition: form-data; name=%s\r\n\r\n%s\r\n"
            % (boundary, name, part)
            for name, part in (
                (b'"commission"', b"3"),
                (b'"files"; filename="a.jpg"', photograph(colour)),
            )
        )
        return maker.api.generic(
            "POST",
            PICTURES,
            body + b"--%s--\r\n" % boundary,
            content_type=f"multipart/form-data; boundary={boundary.decode()}",
            headers={"Idempotency-Key": "one"},
        )

    first, again, other = sent("#111111", b"aa"), sent("#111111", b"bb"), sent("#eeeeee", b"aa")

    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json() == first.json()
    assert (other.status_code, other.json()["code"]) == (409, "idempotency_key_reused")
    assert commission.pictures.count() == 1


def test_a_photograph_larger_than_a_body_in_memory_may_have_a_key(maker, commission, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 2_000
    noise = io.BytesIO()
    Image.effect_noise((200, 200), 90).save(noise, "JPEG")
    assert len(noise.getvalue()) > 2_000

    done = maker.api.post(
        PICTURES,
        {"files": [file(body=noise.getvalue())], "commission": 3},
        format="multipart",
        headers={"Idempotency-Key": "large"},
    )

    assert done.status_code == 201
