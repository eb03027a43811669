"""An archive on its way into a studio: others go on working, and nothing is left half-written."""

import io
import random
import stat
import zipfile
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from inventory.models import Material
from inventory.stock import books
from pricing import exports
from pricing.costing.defaults import prepare_studio
from pricing.exports import PARTS, importing
from pricing.models import Customer
from pricing.techniques import TECHNIQUES
from studio.models import Restoring, Studio
from studio.transfer import TransferRefused, files, filling, reading, restoring, tables
from studio.transfer.files import Files
from studio.transfer.filling import Filled
from studio.transfer.reading import Reading
from tests.factories.inventory import MaterialFactory
from tests.factories.studio import StudioFactory
from tests.pricing.archives import import_studio
from tests.pricing.test_studio_archive import archived

CUSTOMERS = 1_200  # three batches


def empty_studio():
    studio = StudioFactory()
    prepare_studio(studio)
    return studio


def customers(count):
    """Return the archive of a studio with so many customers."""
    studio = empty_studio()
    Customer.objects.bulk_create(
        Customer(studio=studio, name=f"Customer {number}") for number in range(count)
    )
    body = archived(studio)
    Customer.objects.all().delete()
    studio.delete()
    return body


def small():
    """Return an archive of a studio with one material in it."""
    studio = empty_studio()
    MaterialFactory(studio=studio, name="white")
    return archived(studio)


def packed(told, method=zipfile.ZIP_DEFLATED):
    """Return a zip of {name: bytes}, or of pairs where a name stands twice."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as archive:
        for name, body in told.items() if isinstance(told, dict) else told:
            archive.writestr(name, body)
    return stream.getvalue()


def unpacked(body):
    with zipfile.ZipFile(io.BytesIO(body)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def refusal(body, studio=None):
    """Return why an archive is refused; nothing of it is left then."""
    before = Studio.objects.count(), Material.objects.count(), Customer.objects.count()
    studio = studio or empty_studio()
    with pytest.raises(TransferRefused) as refused:
        import_studio(studio, io.BytesIO(body))
    assert not Restoring.objects.exists()
    assert not studio.materials.exists() and studio.techniques.count() == len(TECHNIQUES)
    studio.delete()
    after = Studio.objects.count(), Material.objects.count(), Customer.objects.count()
    assert after in (before, (before[0] - 1, *before[1:]))
    return str(refused.value)


def elsewhere(act):
    """Do something on a connection of its own, as another person would, and return the result."""

    def on_own_connection():
        try:
            return act()
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        return pool.submit(on_own_connection).result(timeout=60)


# While it is brought in


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
def test_others_write_between_any_two_batches(monkeypatch):
    body, studio, other = customers(CUSTOMERS), empty_studio(), StudioFactory()
    seen = []

    def batches(self, told=Reading.batches):
        for batch in told(self):
            elsewhere(lambda: MaterialFactory(studio=other, name=f"Paint {len(seen)}"))
            seen.append(Customer.objects.filter(studio=studio).count())
            yield batch

    monkeypatch.setattr(Reading, "batches", batches)
    count = import_studio(studio, io.BytesIO(body))

    assert other.materials.count() == len(seen) >= 2 * CUSTOMERS / reading.BATCH
    assert set(seen) == {0}  # nobody sees a row before all are there
    assert (studio.customers.count(), count > CUSTOMERS) == (CUSTOMERS, True)


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
def test_others_write_while_it_is_proved_and_waits_to_be_handed_over():
    body, studio, other = small(), empty_studio(), StudioFactory()

    def proof(filled):
        elsewhere(lambda: MaterialFactory(studio=other))
        return books.check(filled)

    with restoring(studio, PARTS, io.BytesIO(body), proof=proof) as filled:
        elsewhere(lambda: MaterialFactory(studio=other))
        filled.hand_over()

    assert (other.materials.count(), studio.materials.get().name) == (2, "white")


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
def test_of_two_archives_brought_into_one_studio_at_once_one_comes_in():
    body, studio = customers(CUSTOMERS), empty_studio()

    def bring_in():
        try:
            return import_studio(studio, io.BytesIO(body))
        except TransferRefused as refused:
            return str(refused)
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        results = [one.result(timeout=120) for one in [pool.submit(bring_in) for _ in range(2)]]

    (refused,) = [one for one in results if isinstance(one, str)]
    assert "only be brought into an empty one" in refused
    assert (studio.customers.count(), Customer.objects.count()) == (CUSTOMERS, CUSTOMERS)
    assert not Restoring.objects.exists()


@pytest.mark.django_db
def test_what_was_added_meanwhile_stays_and_the_archive_is_refused():
    body, studio = small(), empty_studio()

    with (
        pytest.raises(TransferRefused, match="this one has materials"),
        importing(studio, io.BytesIO(body)) as filled,
    ):
        MaterialFactory(studio=studio, name="mine")
        filled.hand_over()

    assert studio.materials.get().name == "mine"
    assert studio.techniques.count() == len(TECHNIQUES)
    assert not Restoring.objects.exists()


@pytest.mark.django_db
def test_the_settings_of_the_studio_stay_where_its_rows_are_refused(monkeypatch):
    body, studio = small(), empty_studio()
    technique = studio.techniques.first()
    technique.success_rate = "0.5"
    technique.save()

    monkeypatch.setattr(exports, "_proof", lambda filled: ["Nothing adds up."])
    with pytest.raises(TransferRefused, match="do not add up"):
        import_studio(studio, io.BytesIO(body))

    technique.refresh_from_db()
    assert technique.success_rate == 0.5 and not Restoring.objects.exists()


# After a process was killed


def killed_midway(studio, body):
    """Leave what a process leaves that is killed after it has written all rows but the last."""
    filled = Filled(studio, PARTS)
    filled.fill(Reading(Files(io.BytesIO(body), "studio.csv"), PARTS, {}), of=1)
    Material.objects.filter(studio=filled.studio).update(on_hand=7)  # so that no book agrees
    return filled


@pytest.mark.django_db
def test_what_a_killed_process_left_is_seen_by_nobody_and_swept(capsys):
    body, studio = small(), empty_studio()
    filled = killed_midway(studio, body)
    assert books.check(filled.studio) != []

    assert books.check() == []
    call_command("tidy")
    assert Restoring.objects.exists()  # it may be at work still
    Restoring.objects.update(seen_at=timezone.now() - timedelta(hours=1))
    call_command("tidy")

    assert "Removed 1 half of an archive" in capsys.readouterr().out
    assert not Studio.objects.filter(pk=filled.studio.pk).exists()
    assert not Restoring.objects.exists() and studio.techniques.count() == len(TECHNIQUES)


@pytest.mark.django_db
def test_who_was_given_up_writes_nothing_more():
    body, studio = small(), empty_studio()
    filled = killed_midway(studio, body)
    Restoring.objects.update(is_given_up=True)

    with pytest.raises(TransferRefused, match="took too long"):
        filled.hand_over()

    assert not studio.materials.exists() and studio.techniques.count() == len(TECHNIQUES)


# What is no archive, or too much of one


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("module", "name", "most", "sentence"),
    [
        (files, "LARGEST_PACKED", 1_000, "larger than"),
        (files, "LARGEST_UNPACKED", 1_000, "unpacks to more"),
        (files, "MOST_FILES", 5, "more than 5 files"),
        (files, "LARGEST_TABLE", 100, "is too large"),
        (files, "LARGEST_READ", 1_500, "not a whole archive"),
        (tables, "LONGEST_ROW", 300, "is far too long"),
        (reading, "MOST_ROWS", 10, "more than 10 rows"),
    ],
)
def test_more_than_is_stated_is_refused(monkeypatch, module, name, most, sentence):
    body = small()
    monkeypatch.setattr(module, name, most)

    assert sentence in refusal(body)


@pytest.mark.django_db
def test_a_row_without_end_is_not_held_in_memory():
    told = unpacked(small())
    told["inventory/suppliers.csv"] += b'"\n' + b'","\n' * 600_000

    assert "suppliers.csv is far too long" in refusal(packed(told))


@pytest.mark.django_db
def test_any_damage_is_told_in_a_sentence():
    """Each hundredth byte changed, a cut at each hundredth; all of them were tried by hand."""
    body, chance = small(), random.Random(10)
    studio = empty_studio()
    for place in range(chance.randrange(100), len(body), 100):
        changed = bytearray(body)
        changed[place] ^= 1 << chance.randrange(8)
        for damaged in (bytes(changed), body[:place]):
            try:
                files_of = Files(io.BytesIO(damaged), "studio.csv")
                filling._check(Reading(files_of, PARTS, {}))
            except TransferRefused as refused:
                assert str(refused).endswith("."), place
    assert not studio.materials.exists()


@pytest.mark.django_db
def test_what_cannot_be_unpacked_here_is_refused_in_words():
    told = unpacked(small())
    link = zipfile.ZipInfo("inventory/materials.csv")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    links = {**told, link: b"/etc/hostname"}
    del links["inventory/materials.csv"]
    locked = bytearray(packed(told))
    for mark, place in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        locked[locked.index(mark) + place] |= 1

    assert "asks for a password" in refusal(bytes(locked))
    assert "packed in a way" in refusal(packed(told, zipfile.ZIP_LZMA))
    assert "no part of a studio" in refusal(packed(links))
    assert "no part of a studio" in refusal(packed({**told, "../studio/x.csv": b""}))
    assert "no part of a studio" in refusal(packed({**told, "inventory/mateрials.csv": b""}))
    with pytest.warns(UserWarning, match="Duplicate"):
        twice = packed([*told.items(), ("studio.csv", told["studio.csv"])])
    assert "“studio.csv” stands twice" in refusal(twice)
    del told["studio.csv"]
    assert "There is no studio.csv" in refusal(packed(told))


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (b"white", "weiß".encode("latin-1"), "is not in UTF-8"),
        (b"white", b"whi\0te", "not whole"),
        (b"0.0000", b"1e400", "line 2"),
        (b"0.0000", b"NaN", "line 2"),
        (b"0.0000", b"-Infinity", "line 2"),
        (b",value\r\n", b",value\r\nx", "number of its own"),
    ],
)
def test_a_cell_that_means_nothing_is_told_with_its_place(old, new, sentence):
    told = unpacked(small())
    table = told["inventory/materials.csv"]
    assert old in table
    told["inventory/materials.csv"] = table.replace(old, new, 1)

    said = refusal(packed(told))
    assert sentence in said and "materials.csv" in said


# What means the same


@pytest.mark.django_db
def test_an_archive_packed_anew_by_another_program_comes_in():
    """In a folder, not compressed, with marks of encoding, hidden files, columns in any order."""
    told = unpacked(small())
    headings, *rows = told["inventory/materials.csv"].decode().split("\r\n")
    assert '"' not in headings + rows[0]
    turned = [",".join(reversed(line.split(","))) for line in (headings, *rows)]
    told["inventory/materials.csv"] = b"\xef\xbb\xbf" + "\n".join(turned).encode()
    told = {f"my studio/{name}": body for name, body in told.items()}
    told |= {"my studio/": b"", "__MACOSX/my studio/._studio.csv": b"x", "my studio/.hid": b"x"}
    studio = empty_studio()

    import_studio(studio, io.BytesIO(packed(told, zipfile.ZIP_STORED)))

    assert studio.materials.get().name == "white"


@pytest.mark.django_db
def test_a_column_that_may_be_empty_may_be_missing():
    told = unpacked(small())
    headings, row, end = told["inventory/materials.csv"].decode().split("\r\n")
    place = headings.split(",").index("notes")
    without = [
        ",".join(cell for at, cell in enumerate(line.split(",")) if at != place)
        for line in (headings, row)
    ]
    told["inventory/materials.csv"] = "\r\n".join([*without, end]).encode()
    studio = empty_studio()

    import_studio(studio, io.BytesIO(packed(told)))

    assert studio.materials.get().name == "white"
