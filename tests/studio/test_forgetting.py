"""Answers to writes are forgotten after a month; younger ones still stop a second act."""

from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.utils import timezone

from studio.models import IdempotencyRecord

pytestmark = pytest.mark.django_db


def test_answers_older_than_a_month_and_expired_sign_ins_go(maker, viewer, capsys):
    now = timezone.now()
    for key, age in (("old", timedelta(days=30, minutes=1)), ("young", timedelta(days=29))):
        answer = maker.api.post(
            "/api/v1/suppliers/", {"name": key}, headers={"Idempotency-Key": key}
        )
        assert answer.status_code == 201
        IdempotencyRecord.objects.filter(key=key).update(created_at=now - age)
    Session.objects.filter(pk=viewer.client.session.session_key).update(expire_date=now)

    call_command("tidy")

    assert capsys.readouterr().out == "Forgot 1 answer older than 30 days.\n"
    assert list(IdempotencyRecord.objects.values_list("key", flat=True)) == ["young"]
    assert [one.pk for one in Session.objects.all()] == [maker.client.session.session_key]
    again = maker.api.post(
        "/api/v1/suppliers/", {"name": "young"}, headers={"Idempotency-Key": "young"}
    )
    assert again.status_code == 201
    assert maker.studio.suppliers.filter(name="young").count() == 1
