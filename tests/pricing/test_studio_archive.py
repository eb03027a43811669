"""A whole studio out and back in: the same bottles, amounts, values and holds."""

import csv
import io
import sqlite3
import zipfile
from contextlib import closing
from datetime import UTC, date, datetime
from decimal import Decimal as D

import pytest
from django.apps import apps
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from inventory.stock import books, counts, holds
from inventory.stock import ledger as stock
from pricing.bench.pours import LayerLog
from pricing.commissions import orders as commissions
from pricing.commissions.commission_holds import needs_left
from pricing.costing.defaults import prepare_studio
from pricing.earnings import profit
from pricing.exports import PARTS, export_studio, importing
from pricing.models import Commission
from pricing.quoting import quotes as quoting
from pricing.techniques import TECHNIQUES
from studio.models import Tracked
from studio.transfer import TransferRefused
from studio.transfer.parts import lookup
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.everything import one_of_everything
from tests.factories.inventory import SupplierFactory
from tests.factories.judged import pour_judged
from tests.factories.pricing import CommissionFactory, CustomerFactory
from tests.factories.studio import MembershipFactory, StudioFactory
from tests.pricing.archives import import_studio

pytestmark = pytest.mark.django_db

# What belongs to people and machines, is remembered only for a while or counted anew stays behind.
STAYS = {
    "BackgroundTask",
    "Backup",
    "Mail",
    "Studio",
    "Membership",
    "Invitation",
    "ApiToken",
    "IdempotencyRecord",
    "QuoteLink",
    "CalendarLink",
    "DayUse",
    "MonthEnd",
    "ReplacementCost",
    "HandMemory",
    "AlertMail",
    "AlertNotice",
    "Restoring",
}


def busy_studio(**settings):
    """Return a studio with accepted work, half of it poured, an undone entry and all else."""
    bench = working_studio(**settings)
    studio = bench.studio
    _one_more_of_everything(studio)
    ada = MembershipFactory(studio=studio).user
    commission = commissions.open_commission(
        studio=studio, by=ada, customer=bench.customer, title="=Coasters, “best” ones\nfor Wren"
    )
    line = going_on.add_line(
        commission=commission,
        by=ada,
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        quantity=2,
        pieces_each=4,
        topcoat=bench.kit,
        packaging=bench.box,
    )
    quote = going_on.send_quote(quote=quoting.draft_quote(commission=commission, by=ada), by=ada)
    quoting.accept_quote(quote=quote, by=ada)
    pour_judged(
        studio=studio,
        by=ada,
        line=line,
        count=4,
        good_count=4,
        minutes=D(60),
        layers={
            "base": LayerLog(D(110), left_ml=D(10), kept_ml=D(15)),
            "colours": LayerLog(D(60)),
            "activator": LayerLog(D(8)),
        },
    )
    _count_one_bottle(studio, ada, bench.blue)
    taken = stock.use(studio=studio, by=ada, amounts={bench.blue: D("7.3")}, why="'=a test'")
    stock.reverse(studio=studio, by=ada, entry=taken, why="not taken")
    return studio


def _count_one_bottle(studio, by, material):
    """Weigh a bottle in a count, once wrong and once right, leave out the rest, and finish."""
    bottle = material.bottles.filter(remaining__gt=1).first()
    studio.bottles.filter(pk=bottle.pk).update(place="rack")
    count = counts.start_count(studio=studio, by=by, place="rack", kinds=["paint"])
    told = {"count": count, "by": by, "bottle": bottle}
    counts.record(**told, quantity=bottle.remaining - 1, confirmed=True)
    counts.put_back(**told)
    counts.record(**told, quantity=bottle.remaining - D("0.5"), confirmed=True)
    counts.finish_count(count=count, by=by)


def _one_more_of_everything(studio):
    """Add a row of each kind, with numbers far from those that the studio gives out."""
    one = one_of_everything(studio)
    for row in (one.order, one.count, one.commission, one.pour, one.set, one.sale):
        row.number += 900_000
        row.save(update_fields=["number"])


def archived(studio):
    stream = io.BytesIO()
    export_studio(studio, stream)
    return stream.getvalue()


def restored(body, studio=None):
    """Return an empty studio, as a new owner has it, filled from an archive."""
    studio = studio or StudioFactory()
    prepare_studio(studio)
    import_studio(studio, io.BytesIO(body))
    studio.refresh_from_db()
    return studio


def tables(body):
    """Return {file: rows} of an archive."""
    with zipfile.ZipFile(io.BytesIO(body)) as archive:
        return {
            name: list(csv.DictReader(io.StringIO(archive.read(name).decode(), newline="")))
            for name in archive.namelist()
            if name.endswith(".csv")
        }


def changed(body, file, old, new):
    """Return an archive in which one table says something else."""
    with zipfile.ZipFile(io.BytesIO(body)) as archive:
        texts = {name: archive.read(name) for name in archive.namelist()}
    assert old.encode() in texts[file]
    texts[file] = texts[file].replace(old.encode(), new.encode(), 1)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, text in texts.items():
            archive.writestr(name, text)
    return stream.getvalue()


def balances(studio):
    """Return what the studio has, by names instead of keys."""
    return {
        "bottles": sorted(
            studio.bottles.values_list(
                "code", "material__name", "remaining", "value", "capacity", "expires_on", "place"
            ),
            key=str,
        ),
        "materials": sorted(studio.materials.values_list("name", "on_hand", "value")),
        "ledger": list(
            studio.movements.order_by("pk").values_list(
                "kind",
                "bottle__code",
                "quantity",
                "value",
                "entry__happened_at",
                "entry__recorded_at",
                "entry__why",
            )
        ),
        "holds": sorted(
            studio.holds.values_list("material__name", "label", "quantity", "used", "released_at"),
            key=str,
        ),
        "covered": sorted(
            (hold.label, hold.material.name, covered)
            for hold, covered in holds.coverage(studio).items()
        ),
        "totals": books.totals(studio),
    }


@pytest.mark.parametrize("costing", ("fifo", "moving_average"))
def test_an_archive_gives_an_empty_studio_the_same_balances(costing):
    studio = busy_studio(costing=costing)
    assert studio.holds.open().exists() and studio.movements.filter(kind="reversal").exists()

    other = restored(archived(studio))

    assert balances(other) == balances(studio)
    assert books.check(other) == []
    assert other.costing == costing


def test_every_table_comes_back_as_it_was():
    """All but keys, which are new."""
    studio = busy_studio()
    first = archived(studio)
    second = archived(restored(first))
    keys = {
        part.file: {lookup(field) for field in part.columns if field.is_relation} | {"id"}
        for part in PARTS
    }

    def bare(body):
        return {
            file: [
                {
                    name: text
                    for name, text in row.items()
                    if name not in keys.get(file, set()) | {"frozen", "by", "mixes", "made_of"}
                    and not name.endswith("_by")
                }
                for row in rows
            ]
            for file, rows in tables(body).items()
        }

    assert bare(second) == bare(first)
    assert [part.file for part in PARTS if not tables(first)[part.file]] in (
        [],
        ["inventory/batches.csv"],
    )


def test_what_came_in_was_changed_when_it_was_handed_over():
    first = archived(busy_studio())
    studio = StudioFactory()
    prepare_studio(studio)

    with importing(studio, io.BytesIO(first)) as filled:
        before = timezone.now()
        filled.hand_over()

    tracked = [part for part in PARTS if part.owner == "studio" and issubclass(part.model, Tracked)]
    moments = {
        part.file: {row.changed_at for row in part.rows(studio)}
        for part in tracked
        if part.rows(studio).exists()
    }
    assert len(moments) > 20
    assert {len(found) for found in moments.values()} == {1}
    assert all(moment >= before for found in moments.values() for moment in found)
    assert "changed_at" not in {name for rows in tables(first).values() for name in rows[0]}


def test_accepted_work_goes_on_where_it_was():
    studio = busy_studio()
    other = restored(archived(studio))
    mine, theirs = (
        Commission.objects.get(studio=one, title__startswith="=Coasters") for one in (studio, other)
    )

    left = [
        {material.name: quantity for material, quantity in needs_left(one).items()}
        for one in (mine, theirs)
    ]
    assert left[0] == left[1] != {}
    assert all(material.studio_id == other.pk for material in needs_left(theirs))

    commissions.move_on(commission=theirs, status="cancelled", by=None)
    assert not theirs.work.holds.open().exists()
    assert mine.work.holds.open().exists()


def test_profit_and_papers_read_the_same():
    studio = busy_studio()
    other = restored(archived(studio))

    def sold(one):
        return [(row.piece_set, row.profit) for row in profit.set_profit(one)]

    assert [profit_ for _, profit_ in sold(other)] == [profit_ for _, profit_ in sold(studio)]
    numbers = [
        sorted(one.quotes.values_list("number", "gross"), key=str) for one in (studio, other)
    ]
    assert numbers[0] == numbers[1]


def test_people_are_known_again_by_their_address():
    studio = busy_studio()
    ada = studio.memberships.last().user
    other = StudioFactory()
    MembershipFactory(studio=other, user=ada)

    restored(archived(studio), other)
    strangers = restored(archived(studio))

    assert other.pours.get(minutes=60).by == ada
    assert strangers.pours.get(minutes=60).by is None


def test_a_studio_with_rows_is_not_overwritten():
    body, other = archived(busy_studio()), busy_studio()
    before = balances(other)

    with pytest.raises(TransferRefused, match="only be brought into an empty one"):
        import_studio(other, io.BytesIO(body))

    assert balances(other) == before


def test_the_same_archive_twice_is_refused_the_second_time():
    body = archived(busy_studio())
    other = restored(body)
    before = balances(other)

    with pytest.raises(TransferRefused, match="empty"):
        import_studio(other, io.BytesIO(body))

    assert balances(other) == before


@pytest.mark.parametrize(
    ("file", "old", "new", "sentence"),
    [
        ("inventory/bottles.csv", "2000.0000,40.0", "2000.0001,40.0", "books do not add up"),
        ("inventory/movements.csv", "opening,", "gift,", "inventory/movements.csv, line 2, kind"),
        ("inventory/materials.csv", "paint", "a\rb", "This row is not whole"),
        ("inventory/movements.csv", "2000.0000", "NaN", "movements.csv, line 2, quantity"),
        ("inventory/movements.csv", "2000.0000", "1e99", "movements.csv, line 2, quantity"),
        ("inventory/bottles.csv", "material_id", "studio_id", "not known"),
        ("studio.csv", "USD", "ZZZ", "studio.csv, line 2, currency"),
        ("inventory/entries.csv", "recorded_at", "recorded_at,recorded_at", "stands twice"),
    ],
)
def test_an_archive_that_was_tampered_with_leaves_nothing_behind(file, old, new, sentence):
    body = changed(archived(working_studio().studio), file, old, new)
    other = StudioFactory()
    prepare_studio(other)

    with pytest.raises(TransferRefused, match=sentence):
        import_studio(other, io.BytesIO(body))

    assert not other.materials.exists() and not other.entries.exists()
    assert other.techniques.count() == len(TECHNIQUES)
    other.refresh_from_db()
    assert other.currency == "USD"


def test_a_quote_that_was_sent_without_its_last_day_is_refused():
    studio = busy_studio()
    assert studio.quotes.exclude(number=None).update(valid_until=None)

    with pytest.raises(TransferRefused, match="the day until which it is valid"):
        restored(archived(studio))


def test_rows_of_another_studio_cannot_be_named():
    elsewhere = working_studio()
    body = archived(working_studio().studio)
    first = tables(body)["inventory/movements.csv"][0]["material_id"]
    foreign = str(elsewhere.white.pk)
    text = f",{first},opening"
    other = StudioFactory()

    with pytest.raises(TransferRefused, match=f"There is no material “{foreign}” in it"):
        import_studio(
            other,
            io.BytesIO(changed(body, "inventory/movements.csv", text, f",{foreign},opening")),
        )


@pytest.mark.parametrize("body", [b"", b"PK\x03\x04 and no more", b"no zip at all"])
def test_what_is_no_archive_is_refused_in_words(body):
    with pytest.raises(TransferRefused, match="not a whole archive"):
        import_studio(StudioFactory(), io.BytesIO(body))


def test_an_archive_that_unpacks_to_too_much_is_refused(monkeypatch):
    body = archived(working_studio().studio)
    monkeypatch.setattr("studio.transfer.files.LARGEST_UNPACKED", 10_000)

    with pytest.raises(TransferRefused, match="unpacks to more"):
        import_studio(StudioFactory(), io.BytesIO(body))


def test_every_kind_of_row_is_carried_or_known_to_stay():
    models = {
        model
        for app in ("studio", "inventory", "pricing")
        for model in apps.get_app_config(app).get_models()
    }

    assert {model.__name__ for model in models - {part.model for part in PARTS}} == STAYS, (
        "Name a new table among the PARTS of its app's exports.py, or here in STAYS."
    )


def test_each_table_comes_after_those_its_rows_name():
    seen = set()
    for part in PARTS:
        named = {field.related_model for field in part.columns if field.is_relation}
        ours = {model for model in named if model._meta.app_label in ("inventory", "pricing")}
        assert ours - seen - {part.model} == set(), part.file
        seen.add(part.model)


def test_the_dictionary_says_what_every_column_means():
    found = tables(archived(working_studio().studio))
    told = {(row["table"], row["column"]) for row in found.pop("dictionary.csv")}

    with_rows = {file: set(rows[0]) for file, rows in found.items() if rows}
    assert {(file, name) for file, names in with_rows.items() for name in names} - told == set()
    assert {file for file, _ in told} == set(found)


def test_no_secret_is_in_it():
    studio = busy_studio()
    names = zipfile.ZipFile(io.BytesIO(archived(studio))).namelist()

    assert [name for name in names if "token" in name or "member" in name or "user" in name] == []


def test_the_same_studio_is_the_same_bytes():
    studio = working_studio().studio

    assert archived(studio) == archived(studio)


@pytest.mark.parametrize("times", (1, 3))
def test_an_archive_asks_once_for_each_table(times, monkeypatch):
    # What PostgreSQL reads through its own cursors, Django does not count.
    monkeypatch.setitem(connection.settings_dict, "DISABLE_SERVER_SIDE_CURSORS", True)
    studio = StudioFactory()
    for _ in range(times):
        one_of_everything(studio)

    with CaptureQueriesContext(connection) as asked:
        archived(studio)

    selects = [query for query in asked.captured_queries if query["sql"].startswith("SELECT")]
    assert len(selects) == len(PARTS) + 2  # the studio's settings, the bytes of the pictures


def test_an_archive_is_read_by_the_rule_of_every_door():
    studio = StudioFactory(name="Heron")
    CustomerFactory(studio=studio, name="Wren Alder", notes="first line")
    SupplierFactory(studio=studio, shipping_tiers=[{"goods_from": "10.000", "fee": "2.000"}])
    body = archived(studio)

    body = changed(body, "pricing/customers.csv", "Wren Alder", "Cafe\u0301\x0b\ufffe \u202eblue")
    body = changed(body, "pricing/customers.csv", "first line", "first\x07 line")
    body = changed(body, "inventory/suppliers.csv", "10.000", "1\\u00000.000")
    body = changed(body, "studio.csv", "Heron", "Blue\x1bHeron\x07")
    back = restored(body)

    customer = back.customers.get()
    assert (back.name, customer.name, customer.notes) == ("BlueHeron", "Café blue", "first line")
    assert back.suppliers.get().shipping_tiers == [{"goods_from": "10.000", "fee": "2.000"}]


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31", "1949-12-31", "2101-01-01"])
def test_a_day_outside_the_years_taken_is_refused_in_an_archive(day):
    commission = CommissionFactory(due_on=date(2021, 3, 4))
    body = archived(commission.studio)

    with pytest.raises(TransferRefused, match="line 2, due_on: Give a date from 1950 to 2100"):
        restored(changed(body, "pricing/commissions.csv", "2021-03-04", day))


def test_a_moment_outside_the_years_taken_is_refused_in_an_archive():
    commission = CommissionFactory(created_at=datetime(2021, 3, 4, tzinfo=UTC))
    body = archived(commission.studio)

    for moment in ("0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00"):
        sent = changed(body, "pricing/commissions.csv", "2021-03-04T00:00:00+00:00", moment)
        with pytest.raises(TransferRefused, match="created_at: Give a date from 1950 to 2100"):
            restored(sent)


class Interrupted(io.BytesIO):
    """A file in the midst of whose writing somebody else writes to the database."""

    renamed = False

    def write(self, body):
        if not self.renamed:
            self.renamed = True
            with closing(sqlite3.connect(connection.settings_dict["NAME"], timeout=1)) as other:
                other.execute("UPDATE studio_studio SET name = 'Renamed'")
                other.commit()
        return super().write(body)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="asks for SQLite's one lock of writers")
@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
def test_others_go_on_writing_while_an_archive_is_written():
    studio = StudioFactory(name="Before")
    stream = Interrupted()

    export_studio(studio, stream)

    studio.refresh_from_db()
    assert (stream.renamed, studio.name) == (True, "Renamed")
    assert connection.transaction_mode == "IMMEDIATE"  # as our writers begin
    with zipfile.ZipFile(stream) as archive:
        assert b"Before" in archive.read("studio.csv")
