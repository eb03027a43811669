"""An act that is sent twice is done once: its answer is kept beside it and given again.

Two doors lead here: `studio.repeats` for the API, `studio.once` for pages. Each says what makes a
sending known again, as the fields of its `IdempotencyRecord`.
"""

from django.db import IntegrityError, transaction

from studio.models import IdempotencyRecord


def remembered(sending):
    """Return the record kept under the key of a sending, or None."""
    rows = IdempotencyRecord.objects.select_related("user")
    return rows.filter(studio=sending["studio"], key=sending["key"]).first()


def once(sending, work):
    """Run ``work``, which returns a status and an answer, and return the record that keeps both.

    The record and the act are one transaction, so a process that dies in between leaves neither. Of
    two at once the second gets the record of the first. Raises `IntegrityError` where the act
    itself clashed with a constraint.
    """
    try:
        with transaction.atomic():
            record = IdempotencyRecord.objects.create(**sending)
            record.status, record.answer = work()
            record.save(update_fields=["status", "answer"])
    except IntegrityError:
        record = remembered(sending)
        if record is None:
            raise
    return record


def sending_of(request, key, path, digest):
    """Return what makes a sending known again; of a longer path its beginning is compared."""
    return {
        "studio": request.studio,
        "user": request.user,
        "key": key,
        "method_and_path": f"{request.method} {path}"[:300],
        "body_digest": digest,
    }


def add_files(digest, files):
    """Let a digest tell apart what was sent as files too."""
    for name, sent in files.lists():
        for file in sent:
            digest.update(f" {name} {file.size} ".encode())
            for chunk in file.chunks():
                digest.update(chunk)
            file.seek(0)
