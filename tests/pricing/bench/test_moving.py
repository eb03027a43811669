"""How a pour was moved: noted, confirmed as last time, corrected, refused, kept in archives."""

import io
from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone

from pricing.bench import pours
from pricing.bench.batches import mix_batch
from pricing.bench.moving import Noted, as_before, last_time, mixes_of, note_moves, noted_of
from pricing.errors import PourRefused
from pricing.exports import export_studio
from pricing.models import Pour
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.studio import StudioFactory
from tests.pricing.archives import import_studio
from tests.pricing.bench.test_judging import wet

pytestmark = pytest.mark.django_db
API = "/api/v1/"
ALL = Noted(("tilt", "straw"), "torch", D(3), False, {("base", 0): D(5)})


@pytest.fixture
def bench():
    return working_studio()


def told(pour):
    pour = Pour.objects.get(pk=pour.pk)
    return pour.moves, pour.heat, pour.rest_minutes, pour.was_covered


def traces(pour):
    found = mixes_of(Pour.objects.get(pk=pour.pk))
    return {place: mix.trace_seconds for place, mix in found.items()}


def test_a_new_pour_says_nothing_and_nothing_is_not_no(bench):
    pour = wet(bench)

    assert told(pour) == ("", "", None, None)
    assert not pour.is_noted
    assert [words for _, words in pour.moved_facts] == ["not noted"] * 4
    note_moves(pour=pour, noted=Noted(moves=("none",), heat="none", was_covered=False))
    pour.refresh_from_db()
    assert [words for _, words in pour.moved_facts] == ["Not moved", "No heat", "not noted", "No"]


def test_what_is_noted_is_kept_with_the_trace_of_each_mix(bench):
    pour = wet(bench)

    note_moves(pour=pour, noted=ALL)

    assert told(pour) == ("tilt straw", "torch", D(3), False)
    assert traces(pour) == {
        ("base", 0): D(5),
        ("colours", 0): None,
        ("colours", 1): None,
        ("activator", 0): None,
    }


def test_it_is_corrected_and_taken_back(bench):
    pour = wet(bench)
    note_moves(pour=pour, noted=ALL)

    note_moves(pour=pour, noted=Noted(moves=("spin",), traces={("colours", 1): D("4.5")}))
    assert told(pour) == ("spin", "", None, None)
    assert (traces(pour)["base", 0], traces(pour)["colours", 1]) == (5, D("4.5"))

    note_moves(pour=pour, noted=Noted(traces={("base", 0): None}))
    assert told(pour) == ("", "", None, None)
    assert traces(pour)["base", 0] is None


@pytest.mark.parametrize(
    ("noted", "sentence"),
    [
        (Noted(("shake",)), "no way of moving called shake"),
        (Noted(("none", "tilt")), "not both"),
        (Noted(heat="oven"), "a torch, a heat gun, or none"),
        (Noted(rest_minutes=D(-1)), "from 0 to 999.9"),
        (Noted(rest_minutes=D("1.25")), "to a tenth"),
        (Noted(traces={("base", 0): D(0)}), "Leave out what you did not measure"),
        (Noted(traces={("base", 1): D(4)}), "no mix number 2 of the base"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(bench, noted, sentence):
    pour = wet(bench)
    note_moves(pour=pour, noted=ALL)

    with pytest.raises(PourRefused, match=sentence):
        note_moves(pour=pour, noted=noted)

    assert told(pour) == ("tilt straw", "torch", D(3), False)
    assert traces(pour)["base", 0] == 5


def test_the_last_like_pour_is_offered_and_kept_only_when_confirmed(bench):
    days_ago = timezone.now() - timedelta(days=3)
    first = note_moves(pour=wet(bench, poured_at=days_ago), noted=ALL)
    wet(bench, poured_at=days_ago + timedelta(days=1))  # of which nobody said
    canvas = wet(bench, surface=bench.canvas_size, count=1)
    note_moves(pour=canvas, noted=Noted(moves=("spin",)))

    pour = wet(bench)
    offered = last_time(pour)

    assert (offered.pour, offered.noted) == (first, ALL)
    assert ("Trace of base", "5 s") in offered.facts
    assert told(pour) == ("", "", None, None)
    assert last_time(canvas) is None
    as_before(pour=pour, like=first)
    assert told(pour) == told(first)
    assert traces(pour) == traces(first)


def test_an_undone_or_a_later_pour_is_not_last_time(bench):
    pour = wet(bench, poured_at=timezone.now() - timedelta(days=3))
    later = wet(bench)
    note_moves(pour=later, noted=ALL)
    assert last_time(pour) is None

    newest = wet(bench)
    pours.undo_pour(pour=later, by=None, why="Logged twice")
    assert last_time(newest) is None
    with pytest.raises(PourRefused, match="was undone"):
        note_moves(pour=Pour.objects.get(pk=later.pk), noted=ALL)


def test_a_trace_measured_of_the_batch_stays(bench):
    first = note_moves(pour=wet(bench), noted=ALL)
    batch = mix_batch(
        studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(200), trace_seconds=D(7)
    )
    layers = {"base": pours.LayerLog(D(100), mixes=((batch.bottle, D(100)),))}
    pour = wet(bench, layers=layers)
    assert traces(pour) == {("base", 0): 7}

    as_before(pour=pour, like=first)

    assert traces(pour) == {("base", 0): 7}
    note_moves(pour=pour, noted=Noted(traces={("base", 0): D("6.5")}))
    assert traces(pour) == {("base", 0): D("6.5")}


def test_only_a_noted_pour_that_is_alike_is_confirmed(bench):
    pour, canvas = wet(bench), wet(bench, surface=bench.canvas_size, count=1)

    with pytest.raises(PourRefused, match="not like"):
        as_before(pour=pour, like=canvas)
    with pytest.raises(PourRefused, match="not like"):
        as_before(pour=pour, like=pour)
    with pytest.raises(PourRefused, match="Nothing is noted"):
        as_before(pour=pour, like=wet(bench))


# Pages


def test_it_is_noted_and_corrected_on_pages(bench):
    maker, pour = member(bench.studio, "maker").client, wet(bench)
    page, address = reverse("pour", args=[1]), reverse("pour-moves", args=[1])
    assert "Note it while you remember" in maker.get(page).content.decode()

    sent = {"moves": ["tilt", "dryer"], "heat": "", "covered": "yes", "trace_base_0": "5.5"}
    assert maker.post(address, sent).status_code == 302
    assert told(pour) == ("tilt dryer", "", None, True)
    assert traces(pour)["base", 0] == D("5.5")
    shown = maker.get(page).content.decode()
    assert "Tilted, Dryer" in shown
    assert "Correct it" in shown

    refused = maker.post(address, sent | {"moves": ["none", "tilt"]})
    assert refused.status_code == 422
    assert "not both" in refused.content.decode()
    assert 'value="5.5"' in maker.get(address).content.decode()


def test_as_last_time_is_one_tap_and_again_tells_it(bench):
    maker = member(bench.studio, "maker").client
    first, pour = wet(bench), wet(bench)
    first = note_moves(pour=first, noted=ALL)
    assert "As last time" in maker.get(reverse("pour", args=[2])).content.decode()

    maker.post(reverse("pour-as-before", args=[2]), {"like": "1"})

    assert told(pour) == told(first)
    again = maker.get(reverse("pour-again", args=[2])).content.decode()
    assert "Tilted, Straw" in again
    plan = maker.get(f"/plan/?size={bench.tile_size.name}&technique=bloom&count=4&again=2")
    assert "Tilted, Straw" in plan.content.decode()
    assert maker.post(reverse("pour-as-before", args=[2]), {"like": "99"}).status_code == 404
    unsaid = maker.post(reverse("pour-as-before", args=[2]), follow=True).content.decode()
    assert "Say which earlier pour" in unsaid


def test_others_do_not_note(bench):
    wet(bench)
    address, other = reverse("pour-moves", args=[1]), member(StudioFactory(), "owner").client
    assert other.get(address).status_code == 404
    viewer = member(bench.studio, "viewer").client
    assert viewer.post(address, {"moves": ["tilt"]}).status_code == 403
    assert "Nothing is noted" in viewer.get(reverse("pour", args=[1])).content.decode()


@pytest.mark.parametrize(("heat", "stands"), [("torch", True), ("", True), ("none", False)])
def test_heat_near_alcohol_is_cautioned(bench, heat, stands):
    bench.blue.is_flammable = True
    bench.blue.save()
    pour = wet(bench)
    note_moves(pour=pour, noted=Noted(moves=("tilt",), heat=heat))
    viewer = member(bench.studio, "viewer").client

    for page in ("pour", "pour-again"):
        shown = viewer.get(reverse(page, args=[1])).content.decode()
        assert ("Alcohol and solvents" in shown) is stands


def test_paint_without_alcohol_is_not_cautioned(bench):
    note_moves(pour=wet(bench), noted=ALL)

    shown = member(bench.studio, "viewer").client.get(reverse("pour", args=[1])).content.decode()

    assert "Alcohol and solvents" not in shown


# API and archive


def test_the_api_notes_what_is_sent_and_leaves_the_rest(bench):
    pour, api = wet(bench), member(bench.studio, "maker").api
    note_moves(pour=pour, noted=ALL)
    body = {"heat": "none", "traces": [{"layer": "colours", "mix": 2, "trace_seconds": "4"}]}

    kept = api.post(f"{API}pours/1/note-moves/", body).json()

    assert (kept["moves"], kept["heat"], kept["rest_minutes"]) == (["tilt", "straw"], "none", "3.0")
    assert kept["layers"][1]["mixes"][1]["trace_seconds"] == "4.0"
    assert kept["layers"][0]["mixes"][0]["trace_seconds"] == "5.0"
    taken_back = api.post(f"{API}pours/1/note-moves/", {"moves": None, "was_covered": None}).json()
    assert (taken_back["moves"], taken_back["was_covered"]) == (None, None)
    both = api.post(f"{API}pours/1/note-moves/", {"moves": ["none", "spin"]})
    assert (both.status_code, "not both" in both.json()["detail"]) == (409, True)


def test_the_api_confirms_last_time(bench):
    first, pour, api = wet(bench), wet(bench), member(bench.studio, "maker").api
    first = note_moves(pour=first, noted=ALL)
    assert api.get(f"{API}pours/2/").json()["last_time"] == 1

    assert api.post(f"{API}pours/2/as-before/", {"like": 1}).status_code == 200

    assert told(pour) == told(first)
    assert noted_of(Pour.objects.get(pk=pour.pk)) == noted_of(Pour.objects.get(pk=first.pk))


def test_an_archive_brings_it_back(bench):
    note_moves(pour=wet(bench), noted=ALL)
    note_moves(pour=wet(bench), noted=Noted(moves=("none",)))
    stream, other = io.BytesIO(), StudioFactory()
    export_studio(bench.studio, stream)

    import_studio(other, stream)

    assert [told(one) for one in other.pours.order_by("number")] == [
        ("tilt straw", "torch", D(3), False),
        ("none", "", None, None),
    ]
    assert traces(other.pours.get(number=1))["base", 0] == 5


@pytest.mark.parametrize("count", (1, 3))
def test_the_page_asks_as_often_for_more_earlier_pours(bench, count, django_assert_num_queries):
    for _ in range(count):
        note_moves(pour=wet(bench), noted=ALL)
    wet(bench)
    maker = member(bench.studio, "maker").client
    address = reverse("pour", args=[count + 1])
    maker.get(address)

    with django_assert_num_queries(35):
        assert maker.get(address).status_code == 200
