"""The demo: one story through the services, told in a page, the same each time."""

from datetime import datetime, timedelta
from io import StringIO

import pytest
from django.apps import apps
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.db import transaction
from django.utils import timezone
from pypdf import PdfReader

from inventory.models import Material
from inventory.stock.books import check
from pricing.commissions import orders as commissions
from pricing.demo import shelves, shop, story
from pricing.demo.clock import Clock
from pricing.models import Judgement, Quote, Topcoating
from studio import people
from studio.models import Studio
from tests.factories import going_on


def run_demo(folder, **options):
    told = StringIO()
    call_command("demo", no_serve=True, out=str(folder), stdout=told, **options)
    return told.getvalue()


def rows():
    """Return how many rows each table of the product has."""
    models = [
        m
        for app in ("studio", "inventory", "pricing")
        for m in apps.get_app_config(app).get_models()
    ]
    return {model.__name__: model.objects.count() for model in models}


def text_of(path):
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(path).pages)


@pytest.mark.django_db
def test_the_demo_tells_the_story_and_changes_nothing_when_run_again(tmp_path):
    first = run_demo(tmp_path / "one")
    stored = rows()
    second = run_demo(tmp_path / "two")

    assert rows() == stored
    assert second.replace("two", "one") == first
    names = {path.name for path in (tmp_path / "one").iterdir()}
    assert names == {"quote-1.pdf", "reorder-sheet.pdf"}
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    assert check() == []


@pytest.mark.django_db
def test_the_story_has_every_part_within_a_page(tmp_path):
    told = run_demo(tmp_path)

    for part in (
        "How much paint",
        "Short when asked: 1 of Canvas",
        "Alerts before acceptance: 2",
        "Alerts after: 5",
        "Quote 1: $",
        "Reorder: $",
        "Profit in all: $",
        shelves.OWNER["email"],
    ):
        assert part in told
    assert len(told.splitlines()) <= 50
    quote = Quote.objects.get()
    assert f"${quote.gross:.2f}" in text_of(tmp_path / "quote-1.pdf")
    sheet = text_of(tmp_path / "reorder-sheet.pdf")
    assert all(supplier in sheet for supplier in shelves.SUPPLIERS)


@pytest.mark.django_db
def test_the_story_takes_the_weeks_that_paint_and_resin_take(tmp_path):
    """Nothing in it goes on before its time, and it ends on the day on which it is loaded."""
    run_demo(tmp_path)

    studio = demo_studio()
    assert not studio.gone_on.exists()
    assert {one.sold_on for one in studio.sales.all()} == {studio.today()}
    coat = Topcoating.objects.get()
    assert (coat.coated_at - coat.pour.poured_at).days >= 7
    assert timezone.now() - coat.pour.poured_at > timedelta(days=28)
    assert {one.stage for one in Judgement.objects.filter(piece__pour=coat.pour)} == {
        *("dry", "coated"),
    }


@pytest.mark.django_db
@pytest.mark.parametrize("hour", [0, 4, 5, 12, 23])
@pytest.mark.parametrize("day", ["2026-03-31", "2026-11-30"])
def test_the_story_is_lived_at_any_hour_and_when_clocks_change(tmp_path, day, hour):
    """Clocks of its zone went on an hour on 8 March 2026, and back on 1 November (tzdata)."""
    with Clock(datetime.fromisoformat(f"{day}T{hour:02}:30:00+00:00")).governs() as clock:
        studio, _ = story.begin(1)
        assert {one.sold_on for one in studio.sales.all()} == {studio.today()}
    assert clock.days == 0
    assert not studio.gone_on.exists()


@pytest.mark.django_db
def test_the_demo_stops_at_a_stage(tmp_path):
    run_demo(tmp_path, stage="quoted")

    assert Quote.objects.get().status == "sent"
    assert not (tmp_path / "reorder-sheet.pdf").exists()


# What people do in the demo's database between two runs


def account(person):
    return get_user_model().objects.get(username=person["email"])


def demo_studio():
    return Studio.objects.order_by("pk").first()


def open_a_second_studio():
    people.open_studio(user=account(shelves.OWNER), name="Second Shore")


def rename_the_studio():
    Studio.objects.update(name="Kelp Street Pours")


def rename_the_owner():
    name = "ada@elsewhere.example"
    get_user_model().objects.filter(pk=account(shelves.OWNER).pk).update(username=name, email=name)


def rename_everybody():
    for number, user in enumerate(get_user_model().objects.all()):
        user.username = f"somebody-{number}@elsewhere.example"
        user.save(update_fields=["username"])


def delete_the_owner():
    account(shelves.OWNER).delete()


def delete_everybody():
    get_user_model().objects.all().delete()


def leave_the_studio():
    owner, studio = account(shelves.OWNER), demo_studio()
    people.change_role(membership=studio.memberships.get(user=account(shelves.MAKER)), role="owner")
    people.remove_member(membership=studio.memberships.get(user=owner))
    people.open_studio(user=owner, name="On her own")


def leave_it_to_somebody_else():
    """The demo's people are gone from its studio, and its owner has one of her own."""
    studio = demo_studio()
    take_in_a_member()
    for member in studio.memberships.filter(user__username__in=shop.ACCOUNTS):
        people.remove_member(membership=member)
    people.open_studio(user=account(shelves.OWNER), name="On her own")


def open_an_older_one():
    """A studio of hers that comes first in the table, as one that was brought back may."""
    Studio.objects.create(pk=0, name="Before").memberships.create(
        user=account(shelves.OWNER), role="owner"
    )


def take_in_a_member():
    _, secret = people.invite(
        studio=demo_studio(), by=account(shelves.OWNER), email="dee@else.example", role="owner"
    )
    people.join_with_new_account(secret=secret, email="dee@else.example", password="tilted-tray-7")


def change_the_password():
    owner = account(shelves.OWNER)
    owner.set_password("another-wet-tile-8")
    owner.save()


def put_everything_away():
    studio, now = demo_studio(), timezone.now()
    Material.objects.update(archived_at=now)
    for rows in (studio.customers, studio.surfaces, studio.palettes, studio.suppliers):
        rows.update(archived_at=now)


def ask_for_other_work():
    studio = demo_studio()
    asked = commissions.open_commission(
        studio=studio, by=None, customer=studio.customers.get(), title="Another"
    )
    line = studio.commissions.order_by("number").first().lines.first()
    going_on.add_line(
        commission=asked,
        by=None,
        surface=line.surface,
        technique=line.technique,
        palette=line.palette,
    )
    studio.currency = "JPY"
    studio.save(update_fields=["currency"])


ACTS = {
    open_a_second_studio: True,
    rename_the_studio: True,
    rename_the_owner: False,
    rename_everybody: None,
    delete_the_owner: False,
    delete_everybody: None,
    leave_the_studio: False,
    leave_it_to_somebody_else: None,
    take_in_a_member: True,
    change_the_password: False,
    put_everything_away: True,
    ask_for_other_work: True,
}


@pytest.mark.django_db
def test_the_demo_runs_again_whatever_was_done_to_it(tmp_path):
    """The demo's password is named while it opens the studio; None: the demo is not found again."""
    run_demo(tmp_path)
    for act, signs_in in ACTS.items():
        saved = transaction.savepoint()
        act()
        stored = rows()

        again = [run_demo(tmp_path), run_demo(tmp_path)]

        name = act.__name__
        assert rows() == stored, name
        assert again[0] == again[1], name
        assert ("in use already" in again[0]) is (signs_in is None), name
        assert ("Profit in all: " in again[0]) is (signs_in is not None), name
        assert (demo_studio().name in again[0]) is (signs_in is not None), name
        assert (shelves.PASSWORD in again[0]) is bool(signs_in), name
        assert check() == [], name
        transaction.savepoint_rollback(saved)


@pytest.mark.django_db
def test_another_studio_of_its_owner_is_never_told_as_the_demo(tmp_path):
    run_demo(tmp_path)
    open_an_older_one()

    assert "Before" not in run_demo(tmp_path)
    assert shop.loaded().name == shelves.STUDIO["name"]


@pytest.mark.django_db
def test_who_signs_up_for_real_with_the_demos_address_is_not_the_demo(tmp_path):
    people.open_with_new_account(
        email=shelves.OWNER["email"], password="tilted-tray-7", person="Ada", name="Her own"
    )

    told = run_demo(tmp_path)

    assert "in use already" in told
    assert "Her own" not in told


@pytest.mark.django_db
def test_the_demo_is_not_loaded_beside_a_studio_in_use(tmp_path):
    people.open_with_new_account(
        email="eve@shore.example", password="tilted-tray-7", person="Eve", name="Shore"
    )
    stored = rows()

    assert "in use already" in run_demo(tmp_path)
    assert rows() == stored


@pytest.mark.django_db
def test_a_demo_that_is_stopped_half_way_leaves_nothing(tmp_path, monkeypatch):
    def stopped(*args, **kwargs):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("pricing.demo.story.sell", stopped)
        with pytest.raises(KeyboardInterrupt):
            run_demo(tmp_path)

    assert not any(rows().values())
    assert "Profit in all: " in run_demo(tmp_path)
