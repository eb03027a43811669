"""Prove that ledger, cached amounts, holds and values agree."""

import json
import sys
from collections.abc import Sequence
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.stock import books
from studio.models import Studio
from studio.units.numerals import trimmed


class Command(BaseCommand):
    """Print what does not agree, row by row; the exit code is 1 then, and 0 when all is well."""

    help = "Prove that cached amounts, values, holds and orders agree with the ledger."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--studio", type=int, metavar="NUMBER", help="only this studio's books")
        parser.add_argument("--json", action="store_true", help="print findings as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        studio = None
        if options["studio"] is not None:
            studio = Studio.objects.filter(pk=options["studio"]).first()
            if studio is None:
                raise CommandError(f"There is no studio number {options['studio']}.")
        findings = books.check(studio)
        if options["json"]:
            self._print_json(studio, findings)
        else:
            self._print_text(studio, findings)
        if findings:
            sys.exit(1)

    def _print_json(self, studio: Studio | None, findings: Sequence[books.Finding]) -> None:
        totals = {name: str(value) for name, value in books.totals(studio).items()}
        report = {
            "agree": not findings,
            "findings": [finding.as_dict() for finding in findings],
            **totals,
        }
        self.stdout.write(json.dumps(report, indent=2))

    def _print_text(self, studio: Studio | None, findings: Sequence[books.Finding]) -> None:
        for finding in findings:
            self.stdout.write(str(finding))
        if findings:
            rows = "row does" if len(findings) == 1 else "rows do"
            self.stderr.write(f"{len(findings)} {rows} not agree with the ledger.")
            return
        value = {name: trimmed(total) for name, total in books.totals(studio).items()}
        self.stdout.write(
            f"The books agree: {len(books.checks)} checks; value in {value['value_in']}, "
            f"out {value['value_out']}, on hand {value['value_on_hand']}."
        )
