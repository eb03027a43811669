"""The customer's private link: what it opens, who may make it, and what it can no longer do."""

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from django.conf import settings
from django.db import OperationalError, connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from pricing.commissions.promised_day import promise_day
from pricing.errors import AnswerIncomplete, LinkGone, QuoteNotOpen
from pricing.models import Commission, Quote, QuoteLink
from pricing.quoting import quote_links
from pricing.quoting import quotes as quoting
from studio.errors import StudioError
from studio.models import IdempotencyRecord, Mail
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import add_tiles, opened
from tests.pricing.quoting.test_quote_pages import paper_of, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def sent(bench, **terms):
    commission = opened(bench)
    add_tiles(bench, commission, topcoat=bench.kit)
    quote = quoting.draft_quote(commission=commission, by=None, **terms)
    return going_on.send_quote(quote=quote, by=None)


@pytest.fixture
def quote(bench):
    return sent(bench)


@pytest.fixture
def secret(quote):
    return quote_links.make_link(quote=quote, by=None)[1]


def page(name, secret):
    return reverse(f"customer-{name}", args=[secret])


def answer(secret, how, **typed):
    prefix = "no-" if how == "decline" else ""
    typed = {prefix + name: value for name, value in typed.items()}
    return Client().post(page(how, secret), typed, follow=True)


# What the customer sees


def test_a_customer_reads_the_quote_and_nothing_of_what_it_costs(quote, secret):
    response = Client().get(page("quote", secret))

    words = text_of(response)
    assert response.status_code == 200
    assert f"Accept for ${quote.gross:.2f}" in words
    assert "Heat, food and care" in words
    assert "Not for contact with food" in words
    for internal in ("Where the money goes", "Profit after", "margin", "labour", "Overhead"):
        assert internal.lower() not in words.lower().replace("pourwright", "")
    assert response["X-Robots-Tag"] == "noindex"
    assert response["Referrer-Policy"] == "same-origin"
    assert "no-store" in response["Cache-Control"]


def test_a_customer_reads_the_day_promised(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    day = bench.studio.today() + timedelta(days=60)
    promise_day(commission=commission, by=None, on=day)
    quote = quoting.draft_quote(commission=commission, by=None)
    _, secret = quote_links.make_link(quote=going_on.send_quote(quote=quote, by=None), by=None)

    words = text_of(Client().get(page("quote", secret)))

    assert f'Ready by</span><span class="big">{day.day} {day:%b}<' in words


def test_a_customer_takes_the_same_paper_along(bench, quote, secret):
    theirs = Client().get(page("quote-pdf", secret))
    ours = member(bench.studio, "maker", sees_costs=True).client.get(
        reverse("quote-pdf", args=[quote.pk])
    )

    assert theirs.content == ours.content
    assert f"${quote.gross:.2f}" in paper_of(theirs)


def look(client, secret, **headers):
    """Open the page and do what it then does by itself."""
    asked = re.search(
        r'hx-post="([^"]+)" hx-trigger="load"', text_of(client.get(page("quote", secret)))
    )
    if asked:
        assert client.post(asked[1], headers=headers).status_code == 204
    return asked


def test_the_first_look_is_noted_once(quote, secret):
    assert look(Client(), secret)
    quote.refresh_from_db()
    first = quote.viewed_at
    assert not look(Client(), secret)
    Client().post(page("seen", secret))
    quote.refresh_from_db()

    assert quote.status == "viewed"
    assert quote.viewed_at == first
    assert quote.links.get().opened_at is not None


def test_a_member_a_preview_or_a_browser_looking_ahead_is_not_the_customer(bench, quote, secret):
    """A messenger that draws a preview fetches the page; it does not do what the page then does."""
    assert not look(member(bench.studio, "owner").client, secret)
    Client().get(page("quote", secret))
    look(Client(), secret, **{"Sec-Purpose": "prefetch"})

    quote.refresh_from_db()
    assert quote.status == "sent"
    assert quote.links.get().opened_at is None


# What the customer says


def test_a_customer_accepts_by_name_and_the_owner_is_told(bench, quote, secret):
    owner = member(bench.studio, "owner")
    done = answer(secret, "accept", name="Wren Alder")

    quote.refresh_from_db()
    assert "Accepted by Wren Alder" in text_of(done)
    assert (quote.status, quote.answered_by, quote.answered_by_link) == (
        "accepted",
        "Wren Alder",
        True,
    )
    assert quote.commission.status == "accepted"
    assert bench.studio.holds.open().exists()
    (letter,) = Mail.objects.all()
    assert (letter.to, letter.subject) == (owner.user.email, "Wren Alder accepted Quote 1.")
    page = re.search(r"http\S+", letter.text)[0].removeprefix(settings.SITE_URL)
    assert page == reverse("commission", args=[quote.commission.number])
    assert owner.client.get(page).status_code == 200
    assert "Wren Alder accepted Quote 1" in text_of(owner.client.get(reverse("home")))


def test_a_customer_declines_with_a_reason(bench, quote, secret):
    done = answer(secret, "decline", name="Wren Alder", note="Too late for the wedding")

    quote.refresh_from_db()
    assert "Declined on" in text_of(done)
    assert (quote.status, quote.answer_note) == ("declined", "Too late for the wedding")
    assert quote.commission.status == "declined"
    home = text_of(member(bench.studio, "owner").client.get(reverse("home")))
    assert "“Too late for the wedding”" in home


@pytest.mark.parametrize(
    ("how", "typed"),
    [("accept", {"name": " "}), ("decline", {"name": "Wren", "note": " "}), ("decline", {})],
)
def test_an_answer_without_name_or_reason_is_asked_for_again(quote, secret, how, typed):
    response = answer(secret, how, **typed)

    quote.refresh_from_db()
    assert response.status_code == 422
    assert quote.status == "sent"


def test_the_service_asks_for_a_name_and_a_reason(quote, secret):
    link = quote_links.link_of(secret)

    with pytest.raises(AnswerIncomplete, match="Give your name"):
        quote_links.accept_by_link(link=link, name=" ")
    with pytest.raises(AnswerIncomplete, match="Say in a few words why"):
        quote_links.decline_by_link(link=link, name="Wren", note=" ")


def test_a_site_without_mail_takes_the_answer(bench, quote, secret, settings):
    member(bench.studio, "owner")
    settings.SENDS_MAIL = False
    answer(secret, "accept", name="Wren Alder")

    quote.refresh_from_db()
    assert (quote.status, Mail.objects.count()) == ("accepted", 0)


def test_the_answer_and_its_mail_are_kept_together(bench, quote, secret, monkeypatch):
    member(bench.studio, "owner")

    def full(**fields):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr(Mail.objects, "create", full)
    client = Client(raise_request_exception=False)
    client.post(reverse("customer-accept", args=[secret]), {"name": "Wren Alder"})

    quote.refresh_from_db()
    assert quote.status == "sent"


# What a link can no longer do


def test_a_replaced_version_is_read_but_not_accepted(bench, quote, secret):
    newer = quoting.draft_quote(commission=quote.commission, by=None)
    going_on.send_quote(quote=newer, by=None)

    done = answer(secret, "accept", name="Wren Alder")

    quote.refresh_from_db()
    assert quote.status == "superseded"
    assert "replaced by a newer one" in text_of(done)
    assert "Accept for" not in text_of(done)


def test_a_quote_is_answered_once(quote, secret):
    answer(secret, "accept", name="Wren Alder")

    again = answer(secret, "decline", name="Wren Alder", note="Second thoughts")

    quote.refresh_from_db()
    assert quote.status == "accepted"
    assert "Quote 1 is accepted, so it cannot be answered." in text_of(again)


@pytest.mark.parametrize(
    ("how", "typed"), [("accept", {}), ("decline", {"note": "Second thoughts"})]
)
def test_an_answer_sent_twice_is_one_answer(bench, quote, secret, how, typed):
    member(bench.studio, "owner")
    told = [answer(secret, how, name="Wren Alder", **typed) for _ in range(2)]

    assert [one.status_code for one in told] == [200, 200]
    assert Mail.objects.count() == 1
    said = {"accept": "accepted", "decline": "declined"}[how]
    assert quote.commission.events.filter(status=said).count() == 1


def test_an_answer_needs_no_cookies_and_no_word_of_where_it_comes_from(quote, secret):
    strict = Client(enforce_csrf_checks=True)

    done = strict.post(page("accept", secret), {"name": "Wren"}, headers={"Origin": "null"})

    quote.refresh_from_db()
    assert (done.status_code, quote.status) == (302, "accepted")
    assert not strict.cookies


@pytest.mark.parametrize("how", ["accept", "decline"])
def test_the_address_of_an_answer_opened_anew_is_the_quote(quote, secret, how):
    assert Client().get(page(how, secret)).headers["Location"] == page("quote", secret)
    quote.refresh_from_db()
    assert quote.status == "sent"


def test_a_quote_past_its_day_is_not_accepted(quote, secret):
    Quote.objects.update(valid_until=quote.studio.today() - timedelta(days=1))

    shown = text_of(Client().get(page("quote", secret)))
    done = text_of(answer(secret, "accept", name="Wren Alder"))

    assert "Ask" in shown
    assert "Accept for" not in shown
    assert "was valid until" in done
    quote.refresh_from_db()
    assert quote.status != "accepted"


@pytest.mark.parametrize("how", ["revoked", "replaced", "expired", "made up"])
def test_a_link_that_does_not_work_opens_nothing(quote, secret, how):
    if how == "revoked":
        quote_links.revoke_link(quote=quote)
    elif how == "replaced":
        quote_links.make_link(quote=quote, by=None)
    elif how == "expired":
        QuoteLink.objects.update(expires_at=timezone.now())
    else:
        secret = "x" * 43

    with pytest.raises(LinkGone):
        quote_links.link_of(secret)
    answers = [Client().get(page(name, secret)) for name in ("quote", "quote-pdf")]
    answers += [
        Client().post(page(name, secret), {"name": "Wren"})
        for name in ("accept", "decline", "seen")
    ]
    for told in answers:
        assert told.status_code == 404
        assert "Ask the studio for a new one" in text_of(told)
    quote.refresh_from_db()
    assert quote.status == "sent"


def test_no_link_is_made_to_a_draft_or_a_closed_quote(bench, quote):
    draft = quoting.draft_quote(commission=opened_again(bench), by=None)
    quoting.decline_quote(quote=quote, name="Wren")

    for closed in (draft, quote):
        with pytest.raises(QuoteNotOpen):
            quote_links.make_link(quote=closed, by=None)


def opened_again(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    return commission


# Who makes it


def test_an_owner_makes_it_sees_it_once_and_stops_it(bench, quote):
    owner = member(bench.studio, "owner").client

    shown = text_of(owner.post(reverse("quote-link", args=[quote.pk])))
    url = re.search(r"http://site\.example(/q/[\w-]+/)", shown)[1]
    later = text_of(owner.get(reverse("quote", args=[quote.pk])))

    assert Client().get(url).status_code == 200
    assert url not in later
    assert "It works until" in later
    owner.post(reverse("quote-link-revoke", args=[quote.pk]))
    assert Client().get(url).status_code == 404


@pytest.mark.parametrize("name", ["quote-link", "quote-link-revoke"])
def test_nobody_else_makes_or_stops_it(bench, quote, other_owner, stranger, name):
    path = reverse(name, args=[quote.pk])

    assert member(bench.studio, "maker").client.post(path).status_code == 403
    assert other_owner.client.post(path).status_code == 404
    assert stranger.client.post(path).status_code == 302
    assert not QuoteLink.objects.exists()


def test_the_api_makes_it_without_keeping_the_secret(bench, quote):
    api = member(bench.studio, "owner").api
    path = reverse("api-quote-link", args=[quote.pk])

    made = api.post(path, headers={"Idempotency-Key": "one"})
    url = made.data["url"]

    assert made.status_code == 201
    assert Client().get(url).status_code == 200
    assert not IdempotencyRecord.objects.filter(key="one").exists()
    assert api.delete(path).status_code == 204
    assert Client().get(url).status_code == 404


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
@pytest.mark.postgres
def test_of_eight_customers_at_once_one_accepts():
    assert connection.vendor == "postgresql"
    bench = working_studio()
    quote = sent(bench)
    _, secret = quote_links.make_link(quote=quote, by=None)
    gate = Barrier(8)

    def try_it(number):
        link = quote_links.link_of(secret)
        gate.wait()
        try:
            quote_links.accept_by_link(link=link, name=f"Person {number}")
        except StudioError as refused:
            return str(refused)
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        told = list(pool.map(try_it, range(8)))

    assert told.count(None) == 1
    assert all("accepted, so it cannot be answered" in one for one in told if one)
    assert Commission.objects.get().events.filter(status="accepted").count() == 1
