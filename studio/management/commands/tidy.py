"""Do what passing time asks for now, such as marking quotes that ran out."""

from typing import Any

from django.core.management.base import BaseCommand

from studio.forgetting import KEPT_DAYS, tidy


class Command(BaseCommand):
    """Print what was done; expired sign-ins, sent mails and finished jobs go without a word."""

    help = (
        f"Delete answers to writes that were remembered for {KEPT_DAYS} days, so that sending them "
        "again acted once, sent mails, and sign-ins that have expired; mark quotes that ran out. "
        "Stock and papers are left alone. `manage.py work` does so each night."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        for sentence in tidy():
            self.stdout.write(sentence)
