"""A long sheet, its good rows brought in by the worker after they were shown and agreed to."""

from contextlib import AbstractContextManager, nullcontext

from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.urls import reverse

from inventory.stock.imports.own.bringing import BroughtIn, bring_in_good
from inventory.stock.imports.own.looking import SheetReady, look
from inventory.stock.sheets import Told
from studio import background
from studio.background import Outcome, Work
from studio.models import BackgroundTask, Studio

KIND = "own-sheet"


def bring_in_later(
    *, studio: Studio, by: User, body: bytes, told: Told, digest: str, file_name: str
) -> BackgroundTask:
    """Have a sheet brought in as `bring_in_good` does; ``digest`` is that of what was agreed to."""
    return background.ask(
        studio=studio,
        by=by,
        kind=KIND,
        title=title_of(file_name),
        sent=ContentFile(body),
        columns=None if told.columns is None else list(told.columns.items()),
        heading_row=told.heading_row,
        answers=dict(told.answers),
        digest=digest,
        file_name=file_name,
    )


def kept(*, studio: Studio, by: User, result: BroughtIn, file_name: str) -> BackgroundTask:
    """Keep what came of a sheet that was brought in at once, with the rows to mend as its file."""
    return background.keep(
        studio=studio,
        by=by,
        kind=KIND,
        title=title_of(file_name),
        outcome=outcome_of(result, file_name),
    )


def title_of(file_name: str) -> str:
    """Return what bringing a sheet in is called."""
    return f"What came of {file_name or 'a sheet'}"


def outcome_of(result: BroughtIn, file_name: str) -> Outcome:
    """Return what is told of a sheet, and the rows to mend as a file."""
    if result.to_mend is None:
        return Outcome(result.sentence, reverse("in-and-out"))
    stem = file_name.rpartition(".")[0] or file_name or "sheet"
    return Outcome(
        result.sentence,
        reverse("own-sheet"),
        file=ContentFile(result.to_mend),
        file_name=f"{stem[:120]} to mend.xlsx",
    )


def _prepare(task: BackgroundTask) -> AbstractContextManager[SheetReady]:
    with task.sent.open("rb") as sent:
        body = sent.read()
    given = task.given
    columns = None if given["columns"] is None else dict(given["columns"])
    told = Told(columns, given["heading_row"], given["answers"])
    return nullcontext(look(studio=task.studio, body=body, told=told))


def _act(task: BackgroundTask, ready: SheetReady) -> Outcome:
    result = bring_in_good(
        studio=task.studio,
        by=task.by,
        ready=ready,
        digest=task.given["digest"],
        file_name=task.given["file_name"],
    )
    return outcome_of(result, task.given["file_name"])


SHEET_WORK = Work(prepare=_prepare, act=_act)
