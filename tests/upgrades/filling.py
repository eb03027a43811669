"""What the filled database of a version is made of: the demo, and a row of each other kind."""

from inventory.buying.alert_mail import write_news
from pricing.bench.pictures import remove_picture
from pricing.demo import story
from pricing.quoting.quote_links import make_link
from studio.models import Backup, IdempotencyRecord, Restoring
from studio.tokens import create_token
from tests.factories.everything import one_of_everything
from tests.factories.studio import BackgroundTaskFactory, StudioFactory


def fill():
    """Fill an empty database; the rows of every table are those that a person's acts leave."""
    studio, owner = story.begin(1)
    for picture in studio.pictures.all():  # they weigh ten times all the rest; next door's do not
        remove_picture(picture=picture)
    make_link(quote=studio.quotes.exclude(number=None).last(), by=owner)
    create_token(studio=studio, user=owner, label="Shop website")
    write_news(membership=studio.memberships.get(user=owner))
    BackgroundTaskFactory(studio=studio, by=owner)
    one_of_everything(StudioFactory(name="Next door"))
    IdempotencyRecord.objects.create(
        studio=studio,
        user=owner,
        key="k",
        method_and_path="POST /api/v1/customers/",
        body_digest="0" * 64,
        status=201,
        answer={"id": 1},
    )
    Backup.objects.create(name="pourwright-2026-05-01-030000.backup", size_kb=120)
    Restoring.objects.create(studio=StudioFactory(name="Half brought in"))
