"""Mail the day's alerts; safe to run from cron, as often as one likes."""

from collections.abc import Sequence
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.buying import alert_mail
from studio.models import Membership, Studio


class Command(BaseCommand):
    """Write to each member who wants it, if there is news; exits with 1 when a mail failed."""

    help = "Mail owners what is new about stock and prices. Without news there is no mail."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--studio", type=int, metavar="NUMBER", help="only this studio")
        parser.add_argument(
            "--dry-run", action="store_true", help="print the mails, send and remember nothing"
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
            self._send(members)

    def _print(self, members: Sequence[Membership]) -> None:
        for member in members:
            digest = alert_mail.news_for(member)
            to = f"{member.user.email} of {member.studio}"
            if digest.news:
                self.stdout.write(f"To {to}\nSubject: {digest.subject}\n\n{digest.text}\n")
            else:
                self.stdout.write(f"Nothing new for {to}: no mail.\n")

    def _send(self, members: Sequence[Membership]) -> None:
        sent, failed = 0, []
        for member in members:
            try:
                digest = alert_mail.send_news(membership=member)
            except OSError as error:  # what SMTP raises, too
                failed.append(f"{member.user.email}: {error}")
            else:
                sent += bool(digest and digest.news)
        self.stdout.write(f"{sent} sent; {len(members) - sent - len(failed)} had nothing new.")
        if failed:
            raise CommandError(
                f"{len(failed)} could not be sent and will be tried again next time. Is the mail "
                "server of EMAIL_URL right and up? " + "; ".join(failed)
            )
