"""A second studio of the same owner, and one restored from an archive of the first."""

from tests.living import tables, words
from tests.living.acts import catalogue, opening
from tests.living.acts.registry import act
from tests.living.people import file_of


@act(0.6, lambda story: story.second is None)
def open_a_second_studio(story):
    """Open another studio, put something into it, and go back to the first."""
    story.second = opening.open_studio(story, story.owner, "Tarn Row", "uk", "fifo")
    story.owner.mark = words.SECOND
    rows = tables.beginning(story, "materials", words.SECOND)
    catalogue.bring_in(story.owner, "materials", rows)
    story.judge.marks["second"] = words.SECOND
    story.owner.open("/stock/")
    story.owner.open("/")
    go_to(story, story.studio, words.MAIN)


@act(0.6, lambda story: story.restored is None)
def restore_an_archive(story):
    """Take the whole studio out, open a new one, bring all of it in there, and look around."""
    body = story.owner.open("/in-and-out/studio.zip").response.body
    story.restored = opening.open_studio(story, story.owner, "Larch Street again", "us", "fifo")
    page = "/in-and-out/studio/"
    if story.chance(0.3):  # a damaged one first
        place = story.dice.randrange(len(body))
        damaged = (
            body[:place] + bytes([body[place] ^ 1 << story.dice.randrange(8)]) + body[place + 1 :]
        )
        answer = story.owner.fill_in(page, {"file": file_of("studio.zip", damaged)})
    answer = story.owner.fill_in(page, {"file": file_of("studio.zip", body)})
    if answer and answer.is_done:
        for seen in ("/", "/stock/", "/profit/", "/reorder/", "/valuation/", "/ledger/"):
            story.owner.open(seen)
        story.command("check_books", "--studio", str(story.restored.pk))
    elif answer and not story.restored.materials.exists():
        story.judge.find(f"an archive is refused: {answer.page.told}", "POST", page)
    go_to(story, story.studio, words.MAIN)


def go_to(story, studio, mark):
    """Switch to another of the owner's studios."""
    story.owner.mark = mark
    story.owner.press("/studios/", f"/studios/{studio.pk}/enter/")
