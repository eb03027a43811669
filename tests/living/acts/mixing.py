"""Mixing: what to mix for which commissions, batches made and undone."""

from tests.living import words
from tests.living.acts.registry import act


@act(3)
def mix_a_batch(story):
    recipe = story.any(story.studio.recipes.filter(archived_at=None))
    work = story.any(story.studio.commissions.filter(status__in=("accepted", "in_work")))
    asked = {
        "recipe": recipe and recipe.pk,
        "volume_ml": story.dice.choice(("120 mL", "1 cup", "35.5", "8 tbsp", "0", "9 L")),
        "trace_seconds": story.dice.choice(("", "4", "12.5")),
        "place": "Bench",
    }
    if work and story.chance(0.5):
        asked["commission"] = work.pk
    story.bench.fill_in("/batches/new/", asked)
    story.viewer.open("/batches/")


@act(2, lambda story: story.studio.commissions.filter(status__in=("accepted", "in_work")).exists())
def mix_as_the_sheet_says(story):
    """Go the way the pages lead: the mixing sheet, and from there to a batch."""
    bench = story.bench
    work = story.any(story.studio.commissions.filter(status__in=("accepted", "in_work")))
    sheet = bench.open(f"/mixing/?commission={work.number}")
    ways = sorted({link for link in sheet.page.links if link.startswith("/batches/new/")})
    if ways:
        bench.fill_in(story.dice.choice(ways))
    bench.open(f"/mixing/?commission={work.number}")


@act(1, lambda story: story.studio.batches.exists())
def undo_a_batch(story):
    bench = story.bench
    batch = story.any(story.studio.batches.all())
    bench.open(f"/batches/{batch.pk}/")
    bench.fill_in(f"/batches/{batch.pk}/undo/", {"why": story.dice.choice(words.REASONS)})
