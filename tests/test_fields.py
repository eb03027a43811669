"""Whatever writes a row, its text is clean and its days and counts are bounded."""

from datetime import UTC, date, datetime

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import connection, models

from inventory.models import Material, Supplier
from pricing.models import Commission, Customer
from studio.errors import StudioError
from studio.modelfields import (
    DayField,
    EmailField,
    JSONField,
    LineField,
    LinesField,
    MomentField,
    NotKept,
    SmallWholeField,
    WholeField,
)
from studio.models import Studio
from tests.factories.inventory import MaterialFactory, SupplierFactory
from tests.factories.pricing import CommissionFactory, CustomerFactory

OURS = [
    model
    for app in ("studio", "inventory", "pricing")
    for model in apps.get_app_config(app).get_models()
]
# Text that the program makes itself, of letters and figures only.
MADE = {
    "studio.BackgroundTask.kind": "the program's own names",
    "studio.BackgroundTask.leads_to": "an address of a page",
    "studio.Mail.message_id": "made by the standard library",
    "studio.ApiToken.token_key": "the first letters of a secret",
    "studio.Invitation.digest": "a hash",
    "studio.IdempotencyRecord.key": "compared as it came, and refused unless it is printable",
    "studio.IdempotencyRecord.method_and_path": "compared as it came; no path has a NUL",
    "studio.IdempotencyRecord.body_digest": "a hash",
    "studio.IdempotencyRecord.sights": "names of kinds, from the table",
    "inventory.KnownSheet.digest": "a hash",
    "pricing.Picture.sha256": "a hash",
    "pricing.QuoteLink.digest": "a hash",
    "pricing.CalendarLink.digest": "a hash",
    "pricing.HandMemory.model": "a hash",
}
# The token's library has fields of its own.
THEIRS = {"studio.ApiToken.created", "studio.ApiToken.expiry"}
TEXTS = (models.CharField, models.TextField, models.JSONField)
KEPT = (LineField, LinesField, EmailField, JSONField)


def fields_of(*kinds):
    return [
        field
        for model in OURS
        for field in model._meta.local_concrete_fields
        if isinstance(field, kinds) and not field.primary_key
    ]


def named(fields):
    return {f"{field.model._meta.label}.{field.name}" for field in fields}


def test_every_text_of_every_model_is_cleaned_or_made_by_the_program():
    open_ones = [field for field in fields_of(*TEXTS) if not field.choices]

    assert named(open_ones) - named(fields_of(*KEPT)) == set(MADE)


def test_every_day_and_moment_lies_within_the_years_taken():
    days = named(fields_of(models.DateField))

    assert days - named(fields_of(DayField, MomentField)) == THEIRS


def test_every_whole_number_has_bounds():
    numbers = fields_of(models.IntegerField)

    assert named(numbers) == named(fields_of(WholeField, SmallWholeField))
    for field in numbers:
        with pytest.raises(ValidationError):
            field.run_validators(10**30)


def test_fields_of_many_rows_know_one_line_from_several():
    several = {name for name in named(fields_of(LinesField)) if not name.endswith(".notes")}

    assert several == {
        "studio.BackgroundTask.problem",
        "studio.Backup.problem",
        "studio.Mail.html",
        "studio.Mail.problem",
        "studio.Mail.text",
        "studio.Studio.address",
        "studio.Studio.quote_terms",
        "studio.Studio.how_to_pay",
        "pricing.Customer.address",
        "pricing.GoneOn.said",
        "pricing.Judgement.note",
        "pricing.SavedSurface.outline",
    }


def stored(row, name):
    """Return what stands in the database, past every field."""
    table, column = row._meta.db_table, row._meta.get_field(name).column
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {column} FROM {table} WHERE id = %s", [row.pk])
        return cursor.fetchone()[0]


YEAR_ONE = datetime(1, 1, 1, tzinfo=UTC)
DIRTY, CLEAN = "Cafe\u0301\x00\x0b\ufffe \u202eblue\ud800\n", "Café blue"


@pytest.mark.django_db
def test_a_save_keeps_clean_text_and_shows_it(studio):
    row = Material.objects.create(studio=studio, name=DIRTY, kind="paint", notes="a\r\n\x07b")

    assert (row.name, row.notes) == (CLEAN, "a\nb")
    assert (stored(row, "name"), stored(row, "notes")) == (CLEAN, "a\nb")


@pytest.mark.django_db
def test_rows_written_together_are_clean(studio):
    rows = Customer.objects.bulk_create(
        [Customer(studio=studio, name=DIRTY, email="a\x01@b.example")]
    )

    assert (stored(rows[0], "name"), stored(rows[0], "email")) == (CLEAN, "a@b.example")


@pytest.mark.django_db
def test_an_update_of_many_rows_is_clean(studio):
    row = CustomerFactory(studio=studio)
    studio.customers.update(name=DIRTY)
    assert stored(row, "name") == CLEAN

    row.name = f"{DIRTY} again"
    studio.customers.bulk_update([row], ["name"])
    assert stored(row, "name") == f"{CLEAN} again"


@pytest.mark.django_db
def test_a_search_for_unclean_text_finds_the_clean_row(studio):
    row = CustomerFactory(studio=studio, name=CLEAN)

    assert studio.customers.get(name=DIRTY) == row
    assert studio.customers.filter(name__in=[DIRTY]).get() == row


@pytest.mark.django_db
def test_json_is_clean_and_holds_no_number_that_is_none(studio):
    row = SupplierFactory(studio=studio, shipping_tiers=[{"from": "1\x000", "price": "\ud8002"}])
    assert Supplier.objects.get(pk=row.pk).shipping_tiers == [{"from": "10", "price": "2"}]

    row.shipping_tiers = [float("nan")]
    with pytest.raises(ValidationError):
        row.full_clean()
    with pytest.raises((StudioError, ValidationError)):
        row.save()


@pytest.mark.django_db
def test_length_is_that_of_the_text_in_normal_form(studio):
    decomposed = "e\u0301" * 120  # 120 letters of two code points each

    row = Material.objects.create(studio=studio, name=decomposed, kind="paint")
    row.full_clean()

    assert stored(row, "name") == "é" * 120
    # Two code points in normal form C, for it is excluded from composition (UAX #15, table 5).
    with pytest.raises(NotKept, match="Name: That is too long; 120 characters are enough"):
        Material.objects.create(studio=studio, name="\u0958" * 61, kind="paint")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("write", "sentence"),
    [
        (
            lambda one: Commission.objects.filter(pk=one.pk).update(due_on=date(9999, 12, 31)),
            "Wanted by: Give a date from 1950 to 2100",
        ),
        (
            lambda one: Commission.objects.filter(pk=one.pk).update(due_on="0001-01-01"),
            "Wanted by: Give a date from 1950 to 2100",
        ),
        (
            lambda one: Commission.objects.filter(pk=one.pk).update(created_at=YEAR_ONE),
            "Created at: Give a date",
        ),
        (
            lambda one: Commission.objects.filter(pk=one.pk).update(number=10**30),
            "Number: Give a number from 0 to 2,147,483,647",
        ),
        (
            lambda one: Commission.objects.filter(pk=one.pk).update(number=-1),
            "Number: Give a number",
        ),
        (
            lambda one: Commission.objects.filter(pk=one.pk).update(title="x" * 121),
            "Title: That is too long; 120 characters",
        ),
        (
            lambda one: Customer.objects.filter(pk=one.customer_id).update(email="x" * 255),
            "Email: That is too long",
        ),
    ],
    ids=["year 9999", "year 1", "moment", "large", "negative", "title", "email"],
)
def test_what_a_column_cannot_hold_is_refused_in_words_on_every_database(studio, write, sentence):
    one = CommissionFactory(studio=studio)

    with pytest.raises(StudioError, match=sentence):
        write(one)


@pytest.mark.django_db
@pytest.mark.parametrize("day", [date(1950, 1, 1), date(2100, 12, 31)])
def test_the_first_and_the_last_day_are_taken(studio, day):
    one = CommissionFactory(studio=studio, due_on=day)

    one.full_clean()
    assert Commission.objects.get(pk=one.pk).due_on == day


def test_in_migrations_the_fields_are_those_of_django():
    paths = {
        field.deconstruct()[1] for field in fields_of(*KEPT, DayField, MomentField, WholeField)
    }

    assert {path.rpartition(".")[0] for path in paths} == {"django.db.models"}
    _, path, _, options = Studio._meta.get_field("quote_days").deconstruct()
    assert path == "django.db.models.PositiveSmallIntegerField"
    assert len(options["validators"]) == 2  # its own, and none of the column's


@pytest.mark.django_db
def test_expressions_pass(studio):
    one = MaterialFactory(studio=studio, name="Teal")

    studio.materials.update(notes=models.F("name"))

    assert stored(one, "notes") == "Teal"
