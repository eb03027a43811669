"""Pictures of commissions, pours and sets: kept whole, few, the studio's own, and carried along."""

import io
import zipfile

import pytest
from django.conf import settings

from inventory.stock import books
from pricing.bench.pictures import MOST, add_pictures, describe_picture, remove_picture
from pricing.costing.defaults import prepare_studio
from pricing.errors import PictureRefused
from pricing.exports import export_studio
from pricing.models import Picture
from studio.pictures import prepare
from studio.transfer import TransferRefused
from tests.factories.everything import one_of_everything
from tests.factories.pricing import (
    CommissionFactory,
    PictureFactory,
    PieceSetFactory,
    PourFactory,
    photograph,
)
from tests.factories.studio import StudioFactory
from tests.inventory.stock.test_concurrency import at_once
from tests.pricing.archives import import_studio

pytestmark = pytest.mark.django_db

BLUE, RED = prepare(photograph("#2040c0")), prepare(photograph("#c02020", size=(60, 20)))


def pictures_of(thing):
    return [(row.number, row.kind, row.caption) for row in thing.pictures.all()]


def test_pictures_are_kept_as_they_were_made_ready():
    commission = CommissionFactory(number=3)

    made = add_pictures(
        thing=commission, by=None, pictures=[BLUE, RED], kind="sketch", caption="  The tide "
    )

    assert pictures_of(commission) == [(1, "sketch", "The tide"), (2, "sketch", "The tide")]
    row = commission.pictures.get(pk=made[1].pk)
    assert (bytes(row.full), bytes(row.small)) == (RED.full, RED.small)
    assert (row.width, row.height, row.size_bytes) == (60, 20, len(RED.full))
    assert row.studio == commission.studio
    assert (str(row), row.alt) == ("Picture 2 of Commission 3", "The tide")


@pytest.mark.parametrize(("factory", "name"), [(PourFactory, "Pour 8"), (PieceSetFactory, "Set 8")])
def test_what_came_out_is_the_usual_picture_of_a_pour_or_set(factory, name):
    thing = factory(number=8)

    (row,) = add_pictures(thing=thing, by=None, pictures=[BLUE])

    assert (row.kind, row.alt) == ("result", f"Picture 1 of {name}")


def test_there_is_room_for_twelve_and_of_too_many_none_is_added():
    pour = PourFactory()
    add_pictures(thing=pour, by=None, pictures=[BLUE] * (MOST - 1))

    with pytest.raises(PictureRefused, match=r"and 11 are there. Choose at most 1"):
        add_pictures(thing=pour, by=None, pictures=[RED, RED])
    add_pictures(thing=pour, by=None, pictures=[RED])
    with pytest.raises(PictureRefused, match=r"12 are there. Remove one first"):
        add_pictures(thing=pour, by=None, pictures=[RED])

    assert pour.pictures.count() == MOST


def test_a_number_is_not_given_again_while_a_later_one_stands():
    pour = PourFactory()
    first, second = add_pictures(thing=pour, by=None, pictures=[BLUE, RED])

    remove_picture(picture=first)
    add_pictures(thing=pour, by=None, pictures=[BLUE])

    assert [number for number, _, _ in pictures_of(pour)] == [second.number, 3]


def test_a_picture_shows_only_what_fits():
    commission, pour = CommissionFactory(), PourFactory()
    (row,) = add_pictures(thing=pour, by=None, pictures=[BLUE])

    with pytest.raises(PictureRefused, match=r"“like” .like this one. or “colours”"):
        add_pictures(thing=commission, by=None, pictures=[BLUE], kind="fault")
    with pytest.raises(PictureRefused, match="of a pour shows “result”"):
        describe_picture(picture=row, kind="sketch")
    describe_picture(picture=row, kind="fault")
    describe_picture(picture=row, caption="Crazing at the rim")

    assert pictures_of(pour) == [(1, "fault", "Crazing at the rim")]
    assert not commission.pictures.exists()


def test_lists_do_not_read_the_bytes(django_assert_num_queries):
    pour = PourFactory()
    add_pictures(thing=pour, by=None, pictures=[BLUE, RED])

    with django_assert_num_queries(1) as asked:
        list(pour.pictures.all())

    assert '"full"' not in asked.captured_queries[0]["sql"]


def test_the_books_tell_a_picture_that_changed_or_is_of_another_studios_work():
    _, changed, strange = PictureFactory.create_batch(3)
    assert [one for one in books.check() if one.check == "pictures"] == []

    Picture.objects.filter(pk=changed.pk).update(full=RED.full)
    Picture.objects.filter(pk=strange.pk).update(studio=StudioFactory())

    found = [(one.check, one.row, one.sentence) for one in books.check()]
    assert [one for one in found if one[0] == "pictures"] == [
        ("pictures", str(changed), "its bytes are not those that were kept."),
        ("pictures", str(strange), "it is of another studio's work."),
    ]


def archived(studio):
    stream = io.BytesIO()
    export_studio(studio, stream)
    return stream


def test_an_archive_gives_pictures_back_byte_for_byte_and_the_small_ones_anew():
    studio, other = StudioFactory(), StudioFactory()
    one_of_everything(studio)
    prepare_studio(other)
    body = archived(studio)

    import_studio(other, body)

    def shown(one):
        rows = one.pictures.order_by("pk")
        return [(str(row), row.kind, row.caption, bytes(row.full)) for row in rows]

    assert shown(other) == shown(studio) and len(shown(studio)) == 4
    assert all(bytes(row.small)[:2] == b"\xff\xd8" for row in other.pictures.all())
    with zipfile.ZipFile(body) as archive:
        files = [name for name in archive.namelist() if name.endswith(".jpg")]
    assert files == [f"pricing/pictures/{row.pk}.jpg" for row in studio.pictures.order_by("pk")]


@pytest.mark.parametrize(
    ("what", "sentence"),
    [
        (None, "The file that goes with it is missing"),
        (b"<html>", "cannot be taken. This is not a picture"),
        (photograph("#ffffff"), "is not the one that it was"),
        (photograph(kind="PNG"), "cannot be taken. It is not a JPEG"),
        (b"\0" * 20_000_001, "is too large"),
    ],
)
def test_an_archive_with_another_picture_in_it_brings_nothing_in(what, sentence):
    studio, other = StudioFactory(), StudioFactory()
    PictureFactory(studio=studio, pour=None, commission=CommissionFactory(studio=studio))
    prepare_studio(other)
    stream = io.BytesIO()
    with zipfile.ZipFile(archived(studio)) as old, zipfile.ZipFile(stream, "w") as new:
        for name in old.namelist():
            body = what if name.endswith(".jpg") else old.read(name)
            if body is not None:
                new.writestr(name, body)

    with pytest.raises(TransferRefused, match=sentence):
        import_studio(other, stream)

    assert not other.pictures.exists() and not other.commissions.exists()


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
def test_phones_at_once_do_not_fill_more_than_there_is_room_for():
    pour = PourFactory()

    def add():
        return add_pictures(thing=pour, by=None, pictures=[BLUE] * 5)

    results = at_once(*[add] * 6)

    assert sum(isinstance(one, PictureRefused) for one in results) == 4
    assert [row.number for row in pour.pictures.all()] == list(range(1, 11))
