"""A long file, brought in by the worker after its rows were shown and agreed to."""

from contextlib import AbstractContextManager, nullcontext

from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.urls import reverse

from inventory.stock.imports import SHEETS
from inventory.stock.imports.fates import Preview
from inventory.stock.imports.running import ImportSheet, Ready, carry_out, made_ready
from studio import background
from studio.background import Outcome, Work
from studio.models import BackgroundTask, Studio

LONG = 20_000  # [bytes], some two hundred rows


def bring_in_later(
    *, studio: Studio, by: User, sheet: ImportSheet, body: bytes, digest: str, file_name: str
) -> BackgroundTask:
    """Have a file brought in as `bring_in` does; ``digest`` is that of the preview agreed to."""
    return background.ask(
        studio=studio,
        by=by,
        kind="import",
        title=f"{sheet.title} from {file_name or 'a file'}",
        sent=ContentFile(body),
        sheet=sheet.name,
        digest=digest,
        file_name=file_name,
    )


def said_of(sheet: ImportSheet, plan: Preview) -> str:
    """Return the sentence on what was brought in."""
    counts = plan.counts
    words = f"{counts['new']} new, {counts['changed']} changed, {counts['same']} the same"
    return f"{sheet.title} are in: {words}."


def _prepare(task: BackgroundTask) -> AbstractContextManager[Ready]:
    with task.sent.open("rb") as sent:
        body = sent.read()
    return nullcontext(made_ready(studio=task.studio, sheet=SHEETS[task.given["sheet"]], body=body))


def _act(task: BackgroundTask, ready: Ready) -> Outcome:
    plan = carry_out(
        studio=task.studio,
        by=task.by,
        ready=ready,
        digest=task.given["digest"],
        file_name=task.given["file_name"],
    )
    return Outcome(said_of(ready.sheet, plan), reverse("in-and-out"))


FILE_WORK = Work(prepare=_prepare, act=_act)
