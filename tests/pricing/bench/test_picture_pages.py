"""Pages with pictures: who may see and change them, and that nothing is half-written."""

import io
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from pricing.models import Picture, Pour
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.pricing import (
    CommissionFactory,
    PictureFactory,
    PieceSetFactory,
    PourFactory,
    photograph,
)
from tests.inventory.pages import words


def upload(body=None, name="IMG_0001.jpg"):
    return SimpleUploadedFile(name, photograph() if body is None else body)


@pytest.fixture
def commission(studio):
    return CommissionFactory(studio=studio, title="A tide")


@pytest.fixture
def picture(studio, commission):
    wanted = {"kind": "colours", "caption": "This <blue>"}
    return PictureFactory(studio=studio, pour=None, commission=commission, **wanted)


def add(person, thing, **sent):
    name = {"Commission": "commission", "Pour": "pour", "PieceSet": "set"}[type(thing).__name__]
    address = reverse(f"{name}-pictures", args=[thing.number])
    return person.client.post(address, {"kind": "result", "caption": "", **sent})


def test_pictures_are_added_on_the_page_and_shown_with_what_they_show(maker, commission):
    sent = {"kind": "colours", "caption": "This blue"}

    done = add(maker, commission, pictures=[upload(), upload(photograph("#fff"), "b.png")], **sent)

    page = reverse("commission", args=[commission.number])
    assert (done.status_code, done.headers["Location"]) == (302, f"{page}#pictures")
    shown = maker.client.get(page).content.decode()
    for row in commission.pictures.all():
        assert f'<img src="{reverse("picture-file", args=[row.pk, "small"])}" alt="This' in shown
    assert commission.pictures.count() == 2


@pytest.mark.parametrize("factory", [PourFactory, PieceSetFactory])
def test_a_pour_and_a_set_have_pictures_too(maker, studio, factory):
    thing = factory(studio=studio, number=8)

    done = add(maker, thing, pictures=[upload()])

    shown = maker.client.get(done.headers["Location"]).content.decode()
    name = "Pour" if factory is PourFactory else "Set"
    assert f'alt="Picture 1 of {name} 8"' in shown


def test_a_file_that_is_no_picture_is_an_error_of_its_field_and_nothing_is_kept(maker, commission):
    files = [upload(), upload(b"two cups of white", "notes.jpg")]

    answer = add(maker, commission, pictures=files, kind="sketch", caption="The tide")

    said = answer.content.decode()
    assert answer.status_code == 422
    assert "notes.jpg: This is not a picture. Choose a JPEG, PNG or WebP file." in said
    assert 'value="The tide"' in said and '<option value="sketch" selected>' in said
    assert "Choose them again" in said
    assert not Picture.objects.exists()


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({}, "This field is required"),
        ({"pictures": [upload(b"")]}, "The submitted file is empty|not a picture"),
        ({"pictures": [upload()] * 13}, "Choose at most 12 pictures at once"),
        ({"pictures": [upload()], "kind": "fault"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_added_is_said(maker, commission, sent, sentence):
    answer = add(maker, commission, **{"kind": "like"} | sent)

    assert answer.status_code == 422
    assert re.search(sentence, answer.content.decode())
    assert not Picture.objects.exists()


def test_a_sending_is_known_again_by_its_files(maker, commission):
    sent = {"once": "a-page", "kind": "like"}
    for colour in ("#111111", "#111111", "#eeeeee"):
        file = upload(photograph(colour), "image.jpg")
        assert add(maker, commission, pictures=[file], **sent).status_code == 302

    # The same photograph twice from one page is a double tap; another one is another picture.
    assert commission.pictures.count() == 2


def test_a_picture_is_looked_at_described_and_removed(maker, commission, picture):
    PictureFactory(studio=maker.studio, pour=None, commission=commission, number=9_000, kind="like")
    page = reverse("picture", args=[picture.pk])

    shown = maker.client.get(page).content.decode()
    maker.client.post(reverse("picture-edit", args=[picture.pk]), {"kind": "place", "caption": ""})
    picture.refresh_from_db()

    assert 'alt="This &lt;blue&gt;"' in shown and "Later" in shown and "Earlier" not in shown
    assert reverse("picture-file", args=[picture.pk, "full"]) in shown
    assert (picture.kind, picture.caption) == ("place", "")

    remove = reverse("picture-remove", args=[picture.pk])
    assert "for good" in maker.client.get(remove).content.decode()
    assert commission.pictures.count() == 2
    assert maker.client.post(remove).status_code == 302
    assert commission.pictures.count() == 1
    assert maker.client.get(page).status_code == 404


@pytest.mark.parametrize("size", ["full", "small"])
def test_the_bytes_go_to_members_alone_and_stay_in_their_browser(viewer, picture, size):
    address = reverse("picture-file", args=[picture.pk, size])

    answer = viewer.client.get(address)

    assert Image.open(io.BytesIO(answer.content)).format == "JPEG"
    assert answer.content == bytes(getattr(picture, size))
    headers = answer.headers
    assert headers["Content-Type"] == "image/jpeg"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cache-Control"] == "private, no-cache"
    again = viewer.client.get(address, headers={"If-None-Match": headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert viewer.client.get(reverse("picture-file", args=[picture.pk, "other"])).status_code == 404


PAGES = ("picture", "picture-file", "picture-edit", "picture-remove", "commission-pictures")


@pytest.mark.parametrize("name", PAGES)
def test_only_a_maker_changes_and_another_studio_finds_nothing(
    maker, viewer, other_owner, commission, picture, name
):
    keys = {"picture-file": [picture.pk, "small"], "commission-pictures": [commission.number]}
    address = reverse(name, args=keys.get(name, [picture.pk]))
    looks = name in ("picture", "picture-file")

    assert maker.client.get(address).status_code == 200
    assert viewer.client.get(address).status_code == (200 if looks else 403)
    assert other_owner.client.get(address).status_code == 404
    etag = {"If-None-Match": f'"small-{picture.sha256}"'}
    assert other_owner.client.get(address, headers=etag).status_code == 404
    if not looks:
        sent = {"kind": "like", "caption": "x", "pictures": [upload()]}
        assert viewer.client.post(address, sent).status_code == 403
        assert other_owner.client.post(address, sent).status_code == 404
    assert [row.caption for row in Picture.objects.all()] == ["This <blue>"]


def test_a_viewer_is_offered_nothing_to_add(viewer, commission):
    page = reverse("commission", args=[commission.number])

    assert 'id="pictures"' not in viewer.client.get(page).content.decode()


@pytest.mark.parametrize(("name", "queries"), [("pour", 29), ("set", 10), ("picture", 5)])
@pytest.mark.parametrize("rows", (1, 3))
def test_more_pictures_ask_no_more(studio, name, queries, rows, django_assert_num_queries):
    pour, piece_set = PourFactory(studio=studio), PieceSetFactory(studio=studio)
    for _ in range(rows):
        PictureFactory(studio=studio, pour=pour)
        PictureFactory(studio=studio, pour=None, piece_set=piece_set)
    key = {"pour": pour.number, "set": piece_set.number, "picture": pour.pictures.first().pk}[name]
    person = member(studio, "maker")

    with django_assert_num_queries(queries):
        assert person.client.get(reverse(name, args=[key])).status_code == 200


# The bench


@pytest.fixture
def bench(db):
    return working_studio()


def log(bench, person, **sent):
    wanted = {
        "surface": bench.tile_size.pk,
        "technique": bench.bloom.pk,
        "palette": bench.palette.pk,
        "count": 1,
        "base_mixed": "25 mL",
        "colours_mixed": "12 mL",
        "minutes": 10,
        "notes": "Warm room",
    }
    return person.client.post(reverse("pour-new"), wanted | sent)


def test_a_pour_is_logged_with_its_photographs(bench):
    maker = member(bench.studio, "maker")

    done = log(bench, maker, pictures=[upload(), upload(photograph("#123456"))])

    pour = Pour.objects.get()
    assert done.headers["Location"] == reverse("pour", args=[pour.number])
    assert [(row.kind, row.by) for row in pour.pictures.all()] == [("result", maker.user)] * 2


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"pictures": [upload(b"\0\0\0\x18ftypheic....")]}, "Send it as a JPEG"),
        ({"pictures": [upload(photograph()[:300])]}, "did not come through whole"),
        ({"pictures": [upload()], "base_mixed": "90 L"}, "short"),
    ],
)
def test_what_is_wrong_keeps_what_was_typed_and_logs_nothing(bench, sent, sentence):
    answer = log(bench, member(bench.studio, "maker"), **sent)

    said = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in said and "Choose them again" in said
    assert "Warm room" in said and 'value="12 mL"' in said
    assert not Pour.objects.exists() and not Picture.objects.exists()


def test_a_pour_without_a_photograph_is_logged_as_ever(bench):
    assert log(bench, member(bench.studio, "maker")).status_code == 302
    assert Pour.objects.count() == 1 and not Picture.objects.exists()


def test_an_owner_sees_what_pictures_take_and_what_they_may(owner, maker, studio):
    page = reverse("in-and-out")
    assert "None yet." in words(owner.client.get(page))
    PictureFactory(studio=studio, size_bytes=1_500_000)
    PictureFactory(studio=studio, size_bytes=900_000)
    PictureFactory(size_bytes=70_000_000)  # of another studio

    said = words(owner.client.get(page))
    assert "2 pictures take 3 MB, here and in each backup." in said
    assert "up to 15 MB" in said and "takes 12" in said
    assert "pictures take" not in words(maker.client.get(page))
