"""Write the mails of what is new now, and not only in the morning; as often as one likes."""

from collections.abc import Sequence
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.buying import alert_mail
from studio import outbox
from studio.models import Membership, Studio


class Command(BaseCommand):
    """Write to each member who wants it, if there is news; the worker sends what is written."""

    help = (
        "Write to owners what is new about stock and prices; without news there is no mail. "
        "`manage.py work` does so each morning, and sends what was written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--studio", type=int, metavar="NUMBER", help="only this studio")
        parser.add_argument(
            "--dry-run", action="store_true", help="print the mails, write and remember nothing"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        studio = None
        if options["studio"] is not None:
            studio = Studio.objects.filter(pk=options["studio"]).first()
            if studio is None:
                raise CommandError(f"There is no studio number {options['studio']}.")
        members = list(alert_mail.recipients(studio))
        if options["dry_run"]:
            self._print(members)
        else:
            try:
                self._write(members)
            except outbox.NoMail as error:
                raise CommandError(str(error)) from None

    def _print(self, members: Sequence[Membership]) -> None:
        for member in members:
            digest = alert_mail.news_for(member)
            to = f"{member.user.email} of {member.studio}"
            if digest.news:
                self.stdout.write(f"To {to}\nSubject: {digest.subject}\n\n{digest.text}\n")
            else:
                self.stdout.write(f"Nothing new for {to}: no mail.\n")

    def _write(self, members: Sequence[Membership]) -> None:
        digests = [alert_mail.write_news(membership=member) for member in members]
        count = sum(bool(digest.news) for digest in digests)
        self.stdout.write(f"{count} written; {len(members) - count} had nothing new.")
