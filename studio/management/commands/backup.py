"""Write the whole database into one file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from studio.backups.making import make_backup
from studio.errors import StudioError


class Command(BaseCommand):
    """Print the file that was written; exits with 1 where it does not come back whole."""

    help = (
        "Write everything there is, pictures and papers too, into one file while others go on "
        "working, bring it back for a trial and prove its books. Of older backups in the folder "
        "those of 7 days, 5 weeks and 12 months are kept."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--to", default=settings.BACKUP_DIR, metavar="DIR", help="the folder (BACKUP_DIR)"
        )
        parser.add_argument("--no-check", action="store_true", help="without the trial")

    def handle(self, *args: Any, to: str, no_check: bool, **options: Any) -> None:
        if not to:
            raise CommandError("Say where to with --to DIR.")
        folder = Path(to)
        try:
            made = make_backup(folder, check=not no_check)
        except (StudioError, OSError) as error:
            raise CommandError(f"No backup was made. {error}") from None
        self.stdout.write(str(folder / made.name))
        if made.problem:
            raise CommandError(f"It was written, and does not come back whole: {made.problem}")
