"""What takes longer than a page may: asked for, done by the worker, looked at when one likes.

An app adds to ``works`` what can be asked for, by its kind. Any page that answers with a file can
be asked for without: the worker opens it as the person who asked, with what they may see by then.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from datetime import timedelta
from functools import partial, wraps
from io import BytesIO
from tempfile import TemporaryFile
from typing import Any, Concatenate, ParamSpec
from urllib.parse import urlsplit

from django.contrib.auth.models import User
from django.contrib.sessions.backends.db import SessionStore
from django.core.files import File
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.handlers.wsgi import WSGIRequest
from django.db import transaction
from django.http import HttpResponse
from django.http.response import HttpResponseBase, StreamingHttpResponse
from django.shortcuts import redirect
from django.urls import resolve
from django.utils import timezone
from django_htmx.middleware import HtmxDetails
from django_tasks import task

from studio import jobs
from studio.access import work_in
from studio.errors import Refused, StudioError
from studio.models import BackgroundTask, Membership, Studio
from studio.progress import told_to
from studio.requests import StudioRequest

Params = ParamSpec("Params")
PageOfMembers = Callable[Concatenate[StudioRequest, Params], HttpResponseBase]

KEPT = timedelta(days=7)
FILE = "file"
TRIED_AGAIN = "Something went wrong; nothing was half-done. It is tried again in a few minutes."
GIVEN_UP = (
    "Something went wrong each time it was tried; nothing was half-done. Tell whoever runs this "
    "site: the fault stands in its log."
)
NAME = re.compile(r'filename="([^"]+)"')


@dataclass(frozen=True)
class Outcome:
    """What came of it: a sentence and the page to go on to, or a file."""

    said: str = ""
    leads_to: str = ""
    file: File[bytes] | None = None
    file_name: str = ""


@dataclass(frozen=True)
class Work:
    """How one kind is done: ``prepare`` takes long, and ``act`` writes, in one transaction."""

    act: Callable[[BackgroundTask, Any], Outcome]
    prepare: Callable[[BackgroundTask], AbstractContextManager[Any]]


works: dict[str, Work] = {}


@transaction.atomic
def ask(
    *,
    studio: Studio,
    by: User,
    kind: str,
    title: str,
    sent: File[bytes] | None = None,
    **given: Any,
) -> BackgroundTask:
    """Put in line what somebody asks for; returns the row that tells how far it is.

    What is asked for already, and not done, is not asked for twice.

    Parameters
    ----------
    kind : str
        One of ``works``; `FILE` takes ``path``, an address of this site with its query
    title : str
        What it is, as the person would call it
    sent : django.core.files.File, optional
        A file it is about
    given : JSON values
        What else it takes
    """
    asked = BackgroundTask.objects.filter(studio=studio, by=by, kind=kind, ended_at=None)
    row = None if sent else asked.filter(given=given).first()
    if row is None:
        row = BackgroundTask(studio=studio, by=by, kind=kind, title=title, given=given)
        if sent:
            row.sent.save("sent", sent, save=False)
        row.save()
        jobs.enqueue(do, row.pk)
    return row


@transaction.atomic
def keep(*, studio: Studio, by: User, kind: str, title: str, outcome: Outcome) -> BackgroundTask:
    """Keep what came of something that was done at once, as of what the worker does: its sentence
    and its file stay to be looked at as long. Returns the row."""
    row = BackgroundTask(studio=studio, by=by, kind=kind, title=title)
    _end(row, outcome)
    return row


@task()
def do(pk: int) -> None:
    """Do what was asked for, unless it was done already."""
    row = BackgroundTask.objects.select_related("studio", "by").filter(pk=pk, ended_at=None).first()
    if row is None:
        return
    row.tries += 1
    row.save(update_fields=["tries"])

    def hear(done: int, of: int) -> None:
        BackgroundTask.objects.filter(pk=pk).update(done_count=done, of_count=of)

    try:
        with told_to(hear):
            _do(row)
    except StudioError as refusal:
        _end(row, Outcome(), problem=str(refusal))
    except Exception:
        if row.tries >= jobs.MOST_TRIES:
            _end(row, Outcome(), problem=GIVEN_UP)
        else:
            BackgroundTask.objects.filter(pk=pk).update(problem=TRIED_AGAIN)
        raise


def forget_old() -> None:
    """Delete what was asked for a week ago, with its files."""
    for row in BackgroundTask.objects.filter(asked_at__lt=timezone.now() - KEPT):
        _drop_files(row)
        row.delete()


def forget_all_of(studio: Studio) -> None:
    """Delete the files of all that was asked for in a studio that is about to be removed."""
    for row in BackgroundTask.objects.filter(studio=studio):
        names = (row.sent.name, row.file.name)
        row.delete()
        for name in filter(None, names):
            transaction.on_commit(partial(default_storage.delete, name))


def made_beside(
    long_title: Callable[..., str],
) -> Callable[[PageOfMembers[Params]], PageOfMembers[Params]]:
    """Have what a page answers with made by the worker where that takes long.

    Parameters
    ----------
    long_title : callable
        Takes what the page takes, and returns what the file is called where making it takes long,
        by some count; else an empty text
    """

    def decorate(view: PageOfMembers[Params]) -> PageOfMembers[Params]:
        @wraps(view)
        def asked(
            request: StudioRequest, *args: Params.args, **kwargs: Params.kwargs
        ) -> HttpResponseBase:
            if isinstance(request, _WorkersRequest):
                return view(request, *args, **kwargs)
            title = long_title(request, *args, **kwargs)
            if not title:
                return view(request, *args, **kwargs)
            row = ask(
                studio=request.studio,
                by=request.user,
                kind=FILE,
                title=title,
                path=request.get_full_path(),
            )
            return redirect("background-task", row.pk)

        return asked

    return decorate


def _do(row: BackgroundTask) -> None:
    work = works[row.kind]
    with work.prepare(row) as ready, transaction.atomic():
        # What is done, and that it was, are written together: begun again, it is not done again.
        if BackgroundTask.objects.select_for_update().get(pk=row.pk).ended_at is None:
            _end(row, work.act(row, ready))


def _end(row: BackgroundTask, outcome: Outcome, problem: str = "") -> None:
    row.ended_at, row.problem = timezone.now(), problem
    row.said, row.leads_to, row.file_name = outcome.said, outcome.leads_to, outcome.file_name
    if outcome.file:
        with outcome.file as made:
            row.file.save("made", made, save=False)
    sent = row.sent.name
    row.sent = None
    row.save()
    if sent:
        transaction.on_commit(lambda: default_storage.delete(sent))


def _drop_files(row: BackgroundTask) -> None:
    for kept in (row.sent.name, row.file.name):
        if kept:
            default_storage.delete(kept)


class _WorkersRequest(WSGIRequest):
    """A request of the worker for a file, in the name of the person who asked for it."""

    def __init__(self, path: str, membership: Membership) -> None:
        address = urlsplit(path)
        super().__init__(
            {
                "REQUEST_METHOD": "GET",
                "PATH_INFO": address.path,
                "QUERY_STRING": address.query,
                "wsgi.input": BytesIO(),
            }
        )
        self.user, self.session, self.htmx = membership.user, SessionStore(), HtmxDetails(self)
        work_in(self, membership)


@contextmanager
def _opened(row: BackgroundTask) -> Iterator[HttpResponseBase]:
    rows = Membership.objects.select_related("studio", "user")
    membership = rows.filter(studio=row.studio, user=row.by, user__is_active=True).first()
    if membership is None:
        raise Refused("Who asked for this does not belong to the studio any more.")
    request = _WorkersRequest(row.given["path"], membership)
    found = resolve(request.path_info)
    try:
        yield found.func(request, *found.args, **found.kwargs)
    finally:
        timezone.deactivate()


def _keep_file(row: BackgroundTask, answer: HttpResponseBase) -> Outcome:
    name = NAME.search(answer.headers.get("Content-Disposition", ""))
    if answer.status_code != 200 or name is None:
        raise Refused("This file is not shown to you any more, or cannot be made as things are.")
    if isinstance(answer, HttpResponse):
        return Outcome(file=ContentFile(answer.content), file_name=name[1])
    assert isinstance(answer, StreamingHttpResponse)
    body = TemporaryFile()  # noqa: SIM115 - closed with what reads it
    for piece in answer:
        body.write(piece)
    return Outcome(file=File(body), file_name=name[1])


works[FILE] = Work(prepare=_opened, act=_keep_file)
