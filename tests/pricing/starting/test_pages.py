"""The first pages, as a browser sends them."""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from studio.models import Studio
from studio.once import new_token
from tests.conftest import member
from tests.inventory.pages import words


def sent(**given):
    return {"once": new_token(), **given}


def test_where_one_works_sets_money_measures_and_clock(owner):
    answer = owner.client.post(
        reverse("starting"),
        sent(country="de", tax_rate="19", tax_inclusive="on", makes=["canvases", "tiles"]),
    )

    studio = Studio.objects.get(pk=owner.studio.pk)
    assert answer.url == f"{reverse('starting-sizes')}?make=canvases&make=tiles"
    assert (studio.currency, studio.lengths, studio.time_zone) == ("EUR", "cm", "Europe/Berlin")
    assert (studio.tax_rate, studio.tax_inclusive) == (D("0.19"), True)


def test_no_country_has_a_rate_of_its_own_here(owner):
    owner.client.post(reverse("starting"), sent(country="se", tax_rate="", makes=["tiles"]))

    studio = Studio.objects.get(pk=owner.studio.pk)
    assert (studio.currency, studio.tax_rate) == ("SEK", 0)


def test_a_browsers_country_is_offered(owner):
    page = owner.client.get(reverse("starting"), headers={"accept-language": "fr;q=0.4, de-AT"})

    assert page.context["form"]["country"].value() == "at"


def test_sizes_and_an_hour_lead_to_the_shelf(owner):
    address = reverse("starting-sizes") + "?make=canvases"
    empty = owner.client.post(address, sent(hour="20", other_canvases=""))
    answer = owner.client.post(address, sent(hour="20", canvases=[], other_canvases="9 × 9 × 1 in"))

    studio = Studio.objects.get(pk=owner.studio.pk)
    assert "Tick at least one size" in words(empty)
    assert answer.url.startswith(reverse("starting-shelf") + "?piece=canvases~9")
    assert (studio.labour_rate, studio.overhead_rate) == (20, 0)


def test_half_a_ratio_is_refused_and_nothing_is_put_in(owner):
    answer = owner.client.post(
        reverse("starting-shelf") + "?piece=coasters~10 × 10 × 0.6 cm",
        sent(has_0="on", ratio_a="2", ratio_b="", basis="", heat_limit_c="", cure_hours=""),
    )

    assert answer.status_code == 422
    assert "leave all three empty" in words(answer)
    assert not owner.studio.materials.exists()


@pytest.mark.parametrize("address", ["starting-sizes", "starting-shelf", "starting-prices"])
def test_a_page_that_knows_of_nothing_goes_back_to_the_questions(owner, address):
    assert owner.client.get(reverse(address)).url == reverse("starting")
    assert owner.client.get(reverse("starting-shelf") + "?piece=boats~3").url == "/starting/"


@pytest.mark.parametrize(
    "name", ["starting", "starting-sizes", "starting-shelf", "starting-prices"]
)
def test_who_does_not_own_the_studio_is_not_asked(maker, name):
    assert maker.client.get(reverse(name)).status_code == 403
    assert "Your first steps" not in words(maker.client.get("/"))


def test_the_list_of_first_steps_is_sent_away_for_good(owner):
    assert "Your first steps" in words(owner.client.get("/"))

    owner.client.post(reverse("starting-leave"), sent())

    assert "Your first steps" not in words(owner.client.get("/"))


def test_an_invited_member_is_led_home(studio, client):
    assert member(studio, "viewer").client.get("/").status_code == 200
