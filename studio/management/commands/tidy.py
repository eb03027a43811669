"""Do what passing time asks for, such as marking quotes that ran out; run it once a day."""

from importlib import import_module
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from studio.forgetting import KEPT_DAYS, daily, forget_old_requests
from studio.jobs import forget_done


class Command(BaseCommand):
    """Print how many remembered answers were deleted; expired sign-ins go without a word."""

    help = (
        f"Delete answers to writes that were remembered for {KEPT_DAYS} days, so that sending them "
        "again acted once, and sign-ins that have expired; mark quotes that ran out. Stock and "
        "papers are left alone."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        count = forget_old_requests()
        forget_done()
        import_module(settings.SESSION_ENGINE).SessionStore.clear_expired()
        answers = "answer" if count == 1 else "answers"
        self.stdout.write(f"Forgot {count} {answers} older than {KEPT_DAYS} days.")
        for act in daily:
            if report := act():
                self.stdout.write(report)
