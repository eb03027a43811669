"""See that a home network may be let in."""

from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from studio.models import Studio
from studio.set_up import checks

REFUSED = "Your home network is not let in yet:"


class Command(BaseCommand):
    """Exits with 1 where others had better not reach this site yet, and says what to do."""

    help = "Say what keeps this site from being opened to a home network, if anything does."

    def handle(self, *args: Any, **options: Any) -> None:
        if found := list(_problems()):
            raise CommandError("\n- ".join([REFUSED, *found]))


def _problems() -> Iterator[str]:
    if settings.DEBUG:
        yield "DEBUG is on, which shows strangers the inside of every fault. Take it out of .env."
    if not Studio.objects.filter(restoring=None).exists():
        yield (
            "There is no studio here yet, and whoever came first would own it. Start Pourwright "
            "for this computer alone, open your studio, and come back."
        )
    found = [problem for check in checks for problem in check()]
    yield from found
    if found:
        yield "Or sign in here as they, and choose another on the Password page."
