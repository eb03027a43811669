"""An example beside one's own studio, and nothing of it left behind."""

import pytest
from django.apps import apps
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse

from pricing.demo.example import NoExample, open_example, remove_example
from studio.models import BackgroundTask, Studio
from tests.factories.studio import MembershipFactory
from tests.inventory.pages import words


def counts():
    """Return how many rows there are of every model, but for what the machine keeps by itself."""
    kept = ("sessions", "django_tasks", "django_tasks_db", "django_tasks_database", "axes")
    models = [one for one in apps.get_models() if one._meta.app_label not in kept]
    return {one._meta.label: one._base_manager.count() for one in models}


def test_an_example_is_opened_filled_and_removed_whole(
    owner, django_capture_on_commit_callbacks, settings, tmp_path
):
    settings.MEDIA_ROOT = tmp_path
    before = counts()

    with django_capture_on_commit_callbacks(execute=False):
        owner.client.post(reverse("example-open"))
    example = Studio.objects.get(is_example=True)
    page = words(owner.client.get("/"))
    assert "This is an example" in page
    assert example.memberships.get().user == owner.user
    assert example.quotes.get().number == 1
    assert example.pours.count() == 5
    again = open_example(user=owner.user)
    row = BackgroundTask.objects.create(studio=example, by=owner.user, kind="file", title="All")
    row.file.save("made", ContentFile(b"all"))

    with django_capture_on_commit_callbacks(execute=True):
        owner.client.post(reverse("example-remove"))

    assert again == example
    assert "This is an example" not in words(owner.client.get("/"))
    after = counts()
    assert {
        name: (before[name], after[name]) for name in after if after[name] != before[name]
    } == {}
    assert not default_storage.exists(row.file.name)


def test_a_studio_of_ones_own_is_never_removed(owner):
    with pytest.raises(NoExample, match="a studio of your own"):
        remove_example(studio=owner.studio)
    owner.client.post(reverse("example-remove"))

    assert Studio.objects.filter(pk=owner.studio.pk).exists()


def test_two_people_have_an_example_each(db):
    one, other = MembershipFactory().user, MembershipFactory().user

    assert open_example(user=one) != open_example(user=other)


@pytest.mark.parametrize("name", ["example-open", "example-remove"])
def test_who_does_not_own_a_studio_opens_and_removes_none(maker, name):
    assert maker.client.post(reverse(name)).status_code == 403
    assert not Studio.objects.filter(is_example=True).exists()


def test_no_program_makes_a_studio_an_example(owner):
    answer = owner.api.patch("/api/v1/studio/", {"is_example": True}, format="json")

    assert answer.status_code == 400
    assert not Studio.objects.get(pk=owner.studio.pk).is_example
