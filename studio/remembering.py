"""An act that is sent twice is done once: its answer is kept beside it and given again.

Two doors lead here: `studio.repeats` for the API, `studio.once` for pages. Each says what makes a
sending known again, as the fields of its `IdempotencyRecord`.
"""

from collections.abc import Callable
from typing import Any, Protocol, TypedDict

from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.utils.datastructures import MultiValueDict

from studio.models import IdempotencyRecord, Membership, Studio
from studio.requests import ApiRequest, StudioRequest
from studio.sight import Sight


class Sending(TypedDict):
    """What makes a sending known again."""

    studio: Studio
    user: User
    key: str
    method_and_path: str
    body_digest: str


class RunningHash(Protocol):
    """A running hash, as those of `hashlib`."""

    def update(self, data: bytes, /) -> None: ...


def remembered(sending: Sending) -> IdempotencyRecord | None:
    """Return the record kept under the key of a sending, or None."""
    rows = IdempotencyRecord.objects.select_related("user")
    return rows.filter(studio=sending["studio"], key=sending["key"]).first()


def may_be_told(record: IdempotencyRecord, membership: Membership) -> bool:
    """Tell whether a member still sees all that may stand in an answer they got before."""
    return all(map(membership.sees, map(Sight, record.sights.split())))


def once(
    sending: Sending, membership: Membership, work: Callable[[], tuple[int, Any]]
) -> IdempotencyRecord:
    """Run ``work``, which returns a status and an answer, and return the record that keeps both.

    The record and the act are one transaction, so a process that dies in between leaves neither. Of
    two at once the second gets the record of the first. Raises `IntegrityError` where the act
    itself clashed with a constraint.
    """
    try:
        with transaction.atomic():
            sights = " ".join(sight for sight in Sight if membership.sees(sight))
            record = IdempotencyRecord.objects.create(**sending, sights=sights)
            record.status, record.answer = work()
            record.save(update_fields=["status", "answer"])
            return record
    except IntegrityError:
        first = remembered(sending)
        if first is None:
            raise
        return first


def sending_of(request: StudioRequest | ApiRequest, key: str, path: str, digest: str) -> Sending:
    """Return what makes a sending known again; of a longer path its beginning is compared."""
    return {
        "studio": request.studio,
        "user": request.user,
        "key": key,
        "method_and_path": f"{request.method} {path}"[:300],
        "body_digest": digest,
    }


def add_files(digest: RunningHash, files: MultiValueDict[str, "UploadedFile[Any]"]) -> None:
    """Let a digest tell apart what was sent as files too."""
    for name, sent in files.lists():
        for file in sent:
            digest.update(f" {name} {file.size} ".encode())
            for chunk in file.chunks():
                digest.update(chunk)
            file.seek(0)
