"""A year of a studio and its neighbours, lived at random through the front doors."""

import pytest
from django.conf import settings

from tests.living import every_address
from tests.living.judge import diary_lines
from tests.living.story import Story

pytestmark = pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)

REACHED = set()  # the routes that the years lived so far came to, with rows


@pytest.mark.usefixtures("quickly")
def test_a_year_is_lived_without_a_fault(
    seed, monkeypatch, settings, tmp_path, caplog, pytestconfig
):
    caplog.set_level("CRITICAL", "django.request")  # refusals are looked at by the judge
    caplog.set_level("CRITICAL", "axes")
    settings.MEDIA_ROOT = tmp_path
    settings.SESSION_COOKIE_AGE = 60 * 86_400  # [s] so that not every third answer is a sign-in
    story = Story(seed, monkeypatch)

    faults = story.live()

    REACHED.update(story.judge.reached)
    print(f"\n{story.told()}")
    if pytestconfig.getoption("--diary"):
        print(*diary_lines(story.judge.diary), sep="\n")
    if faults:
        pytest.fail("\n\n".join(str(fault) for fault in faults), pytrace=False)


def test_the_sample_comes_to_every_address(pytestconfig):
    # A few seeds named by hand need not come everywhere; the sample has to.
    if pytestconfig.getoption("--seeds"):
        pytest.skip("seeds named by hand: asked of the stated sample only")
    there = {route.name for route in every_address.all_routes()}

    assert there - REACHED - every_address.NOT_ON_TOUR == set()
