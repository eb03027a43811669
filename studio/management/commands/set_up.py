"""Get a site ready to be served; run it first, and again after each upgrade."""

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from studio import set_up
from studio.passwords import way_in
from studio.preferences import PLACES

REFUSED = "The site is not ready. Nothing was changed. In .env, or as it says:"


class Command(BaseCommand):
    """Print what is wrong, all at once, and change nothing; or print what was done."""

    help = (
        "See that the site can be served, bring its database up to today, collect its files, and "
        "make the first studio and its owner, who gets a link to choose a password. Run again, it "
        "makes nothing twice."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--owner", default="", metavar="EMAIL", help="who owns the first studio"
        )
        parser.add_argument(
            "--studio", default="My studio", metavar="NAME", help="what it is called"
        )
        places = ", ".join(f"{key} ({place[0]})" for key, place in PLACES.items())
        parser.add_argument(
            "--place", default="other", choices=PLACES, help=f"where it is: {places}"
        )
        parser.add_argument(
            "--open-sign-up", action="store_true", help="let anybody open a studio here"
        )

    def handle(
        self,
        *args: Any,
        owner: str,
        studio: str,
        place: str,
        open_sign_up: bool,
        **options: Any,
    ) -> None:
        found = set_up.problems(owner=owner, studio=studio, open_sign_up=open_sign_up)
        if found:
            raise CommandError("\n- ".join([REFUSED, *found]))
        self.stdout.write("Bringing the database up to today and collecting files ...")
        set_up.bring_up_to_date()
        waiting = set_up.first_owner(email=owner, studio=studio, place=place) if owner else None
        self.stdout.write(f"Ready to be served at {settings.SITE_URL}/")
        if waiting:
            self.stdout.write(
                f"\n{waiting.username} chooses a password here; the link works once, and for a "
                f"day:\n{way_in(waiting)}"
            )
