"""A forgotten password: a link that works once and for a day, by mail or from who runs the site."""

import re
from datetime import timedelta
from io import StringIO

import pytest
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone

from pricing.demo.clock import Clock
from studio import passwords
from studio.models import Mail
from studio.outbox import send_waiting
from tests.factories.studio import MembershipFactory, UserFactory

pytestmark = pytest.mark.django_db
OLD, NEW = "velvet kettle orchard", "copper lantern meadow"
ASK = "/password/forgotten/"


@pytest.fixture
def person(studio):
    user = MembershipFactory(studio=studio).user
    user.set_password(OLD)
    user.save()
    return user


def ask(email):
    return Client().post(ASK, {"email": email})


def link_in(text, settings):
    found = re.search(r"http\S+", text.split("for a day:")[-1])[0]
    assert found.startswith(settings.SITE_URL)
    return found.removeprefix(settings.SITE_URL)


def choose(link, password=NEW, again=None):
    """Follow a link and send its form; returns the last answer."""
    browser = Client()
    page = browser.get(link, follow=True)
    if not page.redirect_chain:
        return page
    form = {"new_password1": password, "new_password2": again or password}
    return browser.post(page.redirect_chain[-1][0], form)


def signs_in(person, password):
    sent = {"username": person.username, "password": password}
    return Client().post("/sign-in/", sent).status_code == 302


def test_a_mail_leads_to_a_new_password(person, mailoutbox, settings):
    assert ask(f" {person.email.upper()}").status_code == 200
    send_waiting.call()
    (mail,) = mailoutbox
    assert mail.to == [person.email]

    done = choose(link_in(mail.body, settings))

    assert (done.status_code, done.url) == (302, "/sign-in/")
    assert signs_in(person, NEW) and not signs_in(person, OLD)


def test_the_link_works_once(person, settings):
    link = passwords.way_in(person).removeprefix(settings.SITE_URL)
    choose(link)

    assert "no longer works" in choose(link, "another good password").content.decode()
    assert signs_in(person, NEW)


@pytest.mark.parametrize(("hours", "works"), [(23.9, True), (24.1, False)])
def test_the_link_works_for_a_day(person, settings, hours, works):
    link = passwords.way_in(person).removeprefix(settings.SITE_URL)
    clock = Clock(timezone.now())
    clock.go_on(hours=hours)
    with pytest.MonkeyPatch.context() as patched:
        generator = passwords.default_token_generator
        patched.setattr(type(generator), "_now", lambda self: clock.now.replace(tzinfo=None))
        choose(link)

    assert signs_in(person, NEW) is works


def test_the_link_is_for_that_person_only(person, settings):
    other = UserFactory()
    link = passwords.way_in(person).removeprefix(settings.SITE_URL)
    theirs = passwords.way_in(other).removeprefix(settings.SITE_URL)
    swapped = "/".join([*link.split("/")[:3], theirs.split("/")[3], *link.split("/")[4:]])

    assert "no longer works" in choose(swapped).content.decode()
    assert "no longer works" in choose("/password/new/nobody/abc-def/").content.decode()


def test_the_secret_of_the_link_is_in_no_address_of_the_form(person, settings):
    """So that no page that is opened from there hears of it."""
    link = passwords.way_in(person).removeprefix(settings.SITE_URL)
    page = Client().get(link, follow=True)

    secret = link.split("/")[-2]
    assert secret not in page.redirect_chain[-1][0]
    assert secret not in page.content.decode()


def test_who_asks_does_not_learn_who_has_an_account(person):
    def said(email):
        page = ask(email).content.decode().replace(email, "…")
        return re.sub(r'"X-CSRFToken": "\w+"', "", page)

    assert said(person.email) == said("nobody@example.com")
    assert Mail.objects.count() == 1


def test_asked_again_within_ten_minutes_there_is_one_mail(person):
    for _ in range(3):
        ask(person.email)
    assert Mail.objects.count() == 1

    Mail.objects.update(written_at=timezone.now() - timedelta(minutes=10, seconds=1))
    ask(person.email)

    assert Mail.objects.count() == 2


def test_a_closed_account_gets_none(person):
    get_user_model().objects.update(is_active=False)
    ask(person.email)

    assert not Mail.objects.exists()


def test_a_weak_or_mistyped_password_is_refused(person, settings):
    link = passwords.way_in(person).removeprefix(settings.SITE_URL)

    assert "too short" in choose(link, "short").content.decode()
    assert "match" in choose(link, NEW, "something else").content.decode()
    assert signs_in(person, OLD)


def test_who_was_kept_out_by_wrong_ones_comes_in(person, settings):
    for _ in range(5):
        signs_in(person, "wrong")
    assert not signs_in(person, OLD)

    choose(passwords.way_in(person).removeprefix(settings.SITE_URL))

    assert signs_in(person, NEW)


def test_who_is_signed_in_elsewhere_is_signed_out(person, settings):
    other = Client()
    other.post("/sign-in/", {"username": person.username, "password": OLD})
    assert other.get("/").status_code == 200
    person.refresh_from_db()

    choose(passwords.way_in(person).removeprefix(settings.SITE_URL))

    assert other.get("/").status_code == 302


def test_a_site_without_mail_says_whom_to_ask(person, settings):
    settings.SENDS_MAIL = False

    assert "manage.py new_password" in Client().get(ASK).content.decode()
    assert ask(person.email).status_code == 200
    assert not Mail.objects.exists()


def test_who_runs_the_site_makes_a_link(person, settings):
    said = StringIO()
    call_command("new_password", person.email.upper(), stdout=said)

    choose(said.getvalue().strip().removeprefix(settings.SITE_URL))

    assert signs_in(person, NEW)
    with pytest.raises(CommandError, match="Nobody signs in here as nobody@"):
        call_command("new_password", "nobody@example.com")


def test_the_sign_in_page_leads_there(person):
    assert f'href="{ASK}"' in Client().get("/sign-in/").content.decode()
