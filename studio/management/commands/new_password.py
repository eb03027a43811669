"""Let somebody choose a new password, without a mail."""

from argparse import ArgumentParser
from typing import Any

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError

from studio.passwords import way_in
from studio.site import is_only_here


class Command(BaseCommand):
    """Print the address of a page; whoever opens it first chooses the password."""

    help = (
        "Print a link by which somebody chooses a new password. It works once and for a day: give "
        "it to nobody else."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email", help="the address they sign in with")

    def handle(self, *args: Any, email: str, **options: Any) -> None:
        user = get_user_model().objects.filter(username__iexact=email, is_active=True).first()
        if user is None:
            raise CommandError(f"Nobody signs in here as {email}. Look at the address again.")
        self.stdout.write(way_in(user))
        if is_only_here():
            self.stderr.write("It opens only on this computer, while SITE_URL is an address of it.")
