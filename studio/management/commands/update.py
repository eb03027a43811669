"""Bring the database up to today, and keep a backup of how it was."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from studio.backups.upgrading import bring_up_to_date
from studio.errors import StudioError


class Command(BaseCommand):
    """Say what was done; exits with 1, and nothing changed, where that is not safe."""

    help = (
        "Bring the database up to this version. Data that are there are backed up before, and "
        "the upgrade is tried on that copy; data of a newer version are left alone."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            done = bring_up_to_date()
        except (StudioError, OSError) as error:
            raise CommandError(str(error)) from None
        if done.backup:
            self.stdout.write(
                "Your data were brought up to this version. How they were before lies in\n"
                f"{done.backup}"
            )
