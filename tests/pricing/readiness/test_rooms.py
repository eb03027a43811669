"""The room is noted at pours and topcoats, offered again, and judged for resin."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone

from pricing.errors import PourRefused
from pricing.models import GoneOn, Pour
from pricing.readiness.rooms import Room, judge_room, last_room
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log

pytestmark = pytest.mark.django_db

LONG_AGO = datetime(2026, 1, 5, 12, tzinfo=UTC)


@pytest.fixture
def bench():
    return working_studio(time_zone="UTC")


def test_nothing_is_offered_before_a_room_was_noted(bench):
    log(bench)

    assert last_room(bench.studio) == Room(None, None)
    page = member(bench.studio, "maker").client.get(reverse("pour-new"))
    assert page.context["form"]["room_c"].value() is None


def test_the_room_of_the_latest_act_is_offered(bench):
    pour = log(bench, poured_at=LONG_AGO, room_c=D("19.5"), humidity_percent=D(60))
    assert last_room(bench.studio) == Room(D("19.5"), D(60))
    going_on.log_topcoat(
        pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), room_c=D(23), humidity_percent=None
    )

    client = member(bench.studio, "maker").client
    for page in (reverse("pour-new"), reverse("topcoat-new", args=[pour.number])):
        form = client.get(page).context["form"]
        assert (form["room_c"].value(), form["humidity_percent"].value()) == ("73.4 °F", None)
    assert last_room(working_studio().studio) == Room(None, None)


def test_a_room_is_noted_on_the_page_and_by_the_api_and_shown(bench):
    maker = member(bench.studio, "maker")
    sent = {"surface": bench.tile_size.pk, "technique": bench.bloom.pk, "minutes": "9"}
    sent |= {"palette": bench.palette.pk, "count": "2", "humidity_percent": "71"}

    typed = {**sent, "base_mixed": "20", "room_c": "65"}  # °F, as with all US measures
    assert maker.client.post(reverse("pour-new"), typed).status_code == 302
    layers = [{"layer": "base", "mixed_ml": "20"}]
    body = {**sent, "technique": "bloom", "layers": layers, "room_c": "22"}
    told = maker.api.post("/api/v1/pours/", body, format="json").data

    assert (told["room_c"], told["humidity_percent"]) == ("22.0", "71.0")
    first = Pour.objects.get(number=1)
    page = maker.client.get(reverse("pour", args=[1])).content.decode()
    assert (first.room_c, first.humidity_percent) == (D("18.3"), D(71))
    assert "65 °F, 71 % humidity" in " ".join(page.split())


@pytest.mark.parametrize(
    ("room", "words"), [({"room_c": D(90)}, "0 to 50 °C"), ({"humidity_percent": D(101)}, "100 %")]
)
def test_a_room_that_cannot_be_is_refused_everywhere(bench, room, words):
    with pytest.raises(PourRefused, match=words):
        log(bench, **room)
    client = member(bench.studio, "maker").client
    pour = log(bench)
    sent = {"kit": bench.kit.pk, "mixed_ml": "40", **room}
    assert client.post(reverse("topcoat-new", args=[pour.number]), sent).status_code == 422
    api = member(bench.studio, "maker").api
    assert api.post(f"/api/v1/pours/{pour.number}/topcoats/", sent).status_code == 400


def test_a_room_is_judged_by_what_the_kit_asks_for(bench):
    """Most makers ask for 21 to 29 °C and up to 60 % humidity (trade.md 5.4); this one for more."""
    bench.kit.room_from_c, bench.kit.room_to_c = D(24), D(30)
    bench.kit.save()

    def judged(*room, kit=None):
        return [(one.code, one.severity) for one in judge_room(Room(*room), kit)]

    assert judged(None, None) == []
    assert judged(D(22), None) == [("resin-temperature", "fine")]
    assert judged(D(22), None, kit=bench.kit) == [("resin-temperature", "caution")]
    assert judged(D(24), D(61), kit=bench.kit) == [
        ("resin-temperature", "fine"),
        ("resin-humidity", "caution"),
    ]


def test_resin_in_a_room_in_which_it_does_not_cure_asks_for_a_reason(bench):
    """Below 15 °C the cure fails (trade.md 5.4)."""
    pour = log(bench, poured_at=timezone.now() - timedelta(days=60))
    client = member(bench.studio, "maker").client
    address = reverse("topcoat-new", args=[pour.number])
    sent = {"kit": bench.kit.pk, "mixed_ml": "40", "minutes": "9", "room_c": "13 °C"}

    refused = client.post(address, sent)

    assert refused.status_code == 422
    assert "resin does not cure" in refused.context["form"].errors["reason"][0]
    assert client.post(address, {**sent, "room_c": "18 C"}).status_code == 302  # slow, not spoiled
    assert not GoneOn.objects.exists()
    assert client.post(address, {**sent, "reason": "Tent with a heater"}).status_code == 302
    assert "does not cure" in GoneOn.objects.get().said


def test_the_page_of_a_topcoat_judges_the_room_that_is_offered(bench):
    pour = log(bench, poured_at=timezone.now() - timedelta(days=60), room_c=D(18))

    page = member(bench.studio, "maker").client.get(reverse("topcoat-new", args=[pour.number]))

    assert "At 18 °C (64 °F) resin cures slowly" in page.content.decode()
