"""Bring a backup back."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from studio.backups import filling, restoring
from studio.errors import StudioError


class Command(BaseCommand):
    """Bring a backup into a database, which takes its place at the end and in one step."""

    help = (
        "Bring a backup into a database, on SQLite or PostgreSQL, wherever it was made, and up to "
        "today. What is there already stays unless --overwrite is said; end the server and the "
        "worker before."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file")
        parser.add_argument(
            "--into",
            metavar="DATABASE_URL",
            help="such as sqlite:////srv/studio.sqlite3; else the empty one of the settings",
        )
        parser.add_argument(
            "--overwrite", action="store_true", help="in the place of what is there"
        )

    def handle(
        self, *args: Any, file: str, into: str | None, overwrite: bool, **options: Any
    ) -> None:
        try:
            if into is None:
                filling.fill(Path(file))
            else:
                restoring.restore(Path(file), into, overwrite=overwrite)
        except StudioError as error:
            raise CommandError(str(error)) from None
        self.stdout.write("Restored. Run `manage.py check_books` on it to have its books proved.")
