"""An example beside somebody's own studio: opened and filled in one act, and removed whole."""

from random import Random

from django.contrib.auth.models import User
from django.db import transaction

from inventory.buying.replacing import renew_replacement_costs
from pricing.demo import shelves, shop, story
from pricing.estimating.remembering import learn_hand
from pricing.exports import PARTS
from studio import people
from studio.background import forget_all_of
from studio.errors import StudioError
from studio.models import Studio
from studio.transfer import remove_studio

NAME = f"Example: {shelves.STUDIO['name']}"
SEED = 1


class NoExample(StudioError):
    """Only an example is removed whole; a studio of somebody's own is not."""

    code = "no_example"


@transaction.atomic
def open_example(*, user: User) -> Studio:
    """Return the example studio of a person, opened and filled where there is none.

    It is told as far as its first quote that is sent: what comes later takes weeks, which only the
    demo can let pass.
    """
    User.objects.select_for_update(no_key=True).get(pk=user.pk)
    found = Studio.objects.filter(is_example=True, memberships__user=user).first()
    if found is not None:
        return found
    taken = user.memberships.filter(studio__name=NAME).exists()
    choices = shelves.STUDIO | {"name": f"{NAME} (2)" if taken else NAME}
    studio = people.open_studio(user=user, **choices, is_example=True)
    shop.furnish(studio, user)
    shop.past_pours(studio, user, Random(SEED))
    story.quote(studio, user)
    renew_replacement_costs(studio=studio)
    learn_hand(studio=studio)
    return studio


@transaction.atomic
def remove_example(*, studio: Studio) -> None:
    """Delete an example with every row and file of it; raises `NoExample` for any other studio."""
    studio = Studio.objects.select_for_update().get(pk=studio.pk)
    if not studio.is_example:
        raise NoExample("This is a studio of your own. Only an example can be removed whole.")
    forget_all_of(studio)
    remove_studio(studio, PARTS)
