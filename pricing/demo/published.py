"""The demo's password, which anybody can read in the program."""

from collections.abc import Iterator

from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import check_password

from pricing.demo.shelves import PASSWORD


def published_passwords() -> Iterator[str]:
    """Yield a sentence for each account that the demo's password opens, whoever it is of."""
    accounts = get_user_model().objects.filter(is_active=True).order_by("pk")
    for name, password in accounts.values_list("username", "password"):
        if check_password(PASSWORD, password):
            yield (
                f"{name} signs in with the demo's password, which anybody can read. Give them "
                f"another: manage.py changepassword {name}"
            )
