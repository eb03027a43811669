"""Do the jobs that wait, one after the other: the worker beside the server."""

import logging
from argparse import ArgumentParser
from datetime import timedelta
from threading import Event
from typing import Any

from django.core.management.base import BaseCommand
from django.db import InterfaceError, OperationalError, close_old_connections
from django.utils import timezone
from django.utils.crypto import get_random_string
from django_tasks_db.management.commands.db_worker import Worker
from django_tasks_db.models import DBTaskResult

from studio.jobs import at_start, at_work, each_minute, put_back

POLL = 1.0  # [s]
# Without an answer from the database it looks again after so long.
WAIT = 10.0  # [s]
SWEEP = timedelta(minutes=1)

log = logging.getLogger(__name__)


class Command(BaseCommand):
    """A loop over the worker of the job table that looks without writing while there is nothing."""

    help = (
        "Do the jobs that wait, such as sending mails, the backup of the night and what materials "
        "cost to replace, until it is ended; a job that it was ended in is done again. Run one "
        "beside the server, or several."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--batch", action="store_true", help="end when nothing waits any more")

    def handle(self, *args: Any, batch: bool, **options: Any) -> None:
        # Being told to end is no news; a job that fails is logged all the same.
        logging.getLogger("django_tasks_db").setLevel(logging.ERROR)
        worker = Worker(
            queue_names=["*"],
            interval=POLL,
            batch=True,  # back here when nothing waits
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=get_random_string(32),
            excluded_queue_names=[],
        )
        worker.configure_signals()
        if batch:
            put_back()
            worker.run()
            return
        with at_work(worker.worker_id):
            self._go_on(worker)

    def _go_on(self, worker: Worker) -> None:
        pause, swept_at = Event(), None
        while worker.running:
            wait = POLL
            try:
                if swept_at is None:
                    for act in at_start:
                        act()
                if swept_at is None or timezone.now() - swept_at > SWEEP:
                    put_back()
                    for act in each_minute:
                        act()
                    swept_at = timezone.now()
                if DBTaskResult.objects.ready().exists():
                    worker.run()
            except (OperationalError, InterfaceError):
                log.exception("The database does not answer; trying again in %g s.", WAIT)
                wait = WAIT
            if worker.running:
                close_old_connections()
                pause.wait(wait)
