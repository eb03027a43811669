"""Do the jobs that wait, one after the other: the worker beside the server."""

import logging
from argparse import ArgumentParser
from datetime import timedelta
from threading import Event
from typing import Any

from django.core.management.base import BaseCommand
from django.db import close_old_connections
from django.utils import timezone
from django.utils.crypto import get_random_string
from django_tasks_db.management.commands.db_worker import Worker
from django_tasks_db.models import DBTaskResult

from studio.backups import making
from studio.jobs import at_start, put_back

POLL = 1.0  # [s]
SWEEP = timedelta(minutes=1)


class Command(BaseCommand):
    """A loop over the worker of the job table that looks without writing while there is nothing."""

    help = (
        "Do the jobs that wait, such as working out what materials cost to replace, until it is "
        "ended; a job that it was ended in is done again. Run one beside the server, or several."
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
        if not batch:
            for act in at_start:
                act()
        pause, swept_at = Event(), None
        while worker.running:
            if swept_at is None or timezone.now() - swept_at > SWEEP:
                put_back()
                if not batch:
                    making.put_in_line_if_due()
                swept_at = timezone.now()
            if DBTaskResult.objects.ready().exists():
                worker.run()
            if batch:
                return
            if worker.running:
                close_old_connections()
                pause.wait(POLL)
