"""Studios and people."""

import factory
from django.contrib.auth import get_user_model
from factory.django import DjangoModelFactory

from studio.models import BackgroundTask, Mail, Membership, Studio
from studio.models.people import Role


class StudioFactory(DjangoModelFactory):
    class Meta:
        model = Studio

    name = factory.Sequence(lambda n: f"Studio {n}")


class UserFactory(DjangoModelFactory):
    class Meta:
        model = get_user_model()

    username = factory.Sequence(lambda n: f"person{n}@example.com")
    email = factory.SelfAttribute("username")


class MembershipFactory(DjangoModelFactory):
    class Meta:
        model = Membership

    studio = factory.SubFactory(StudioFactory)
    user = factory.SubFactory(UserFactory)
    role = Role.OWNER


class MailFactory(DjangoModelFactory):
    class Meta:
        model = Mail

    studio = factory.SubFactory(StudioFactory)
    about = Mail.About.ALERTS
    to = "owner@example.com"
    subject = "White is running low"
    text = "50 mL is free."


class BackgroundTaskFactory(DjangoModelFactory):
    class Meta:
        model = BackgroundTask

    studio = factory.SubFactory(StudioFactory)
    by = factory.SubFactory(UserFactory)
    kind = "file"
    title = "Materials as CSV"
    given = {"path": "/in-and-out/materials.csv"}
