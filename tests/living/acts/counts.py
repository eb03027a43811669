"""Counting the shelf: started, walked through, finished or broken off; counted on paper too."""

from tests.living.acts.catalogue import bring_in
from tests.living.acts.registry import act


def _open(story):
    return story.studio.shelf_counts.filter(status="open")


@act(1)
def start_a_count(story):
    def told(form):
        kinds = form.fields["kinds"].offered() if "kinds" in form else []
        return {"kinds": story.dice.sample(kinds, min(2, len(kinds)))}

    story.bench.fill_in("/counts/new/", told)


@act(3, lambda story: _open(story).exists())
def go_on_counting(story):
    bench = story.bench
    count = story.any(_open(story))
    page = f"/counts/{count.number}/"
    for _ in range(story.dice.randint(1, 4)):
        line = story.any(count.lines.waiting())
        if line is None:
            break
        code, left = line.bottle.code, float(line.bottle.remaining)
        if story.chance(0.15):
            bench.fill_in(f"{page}bottles/{code}/leave-out/", {"why": "Not found"})
            continue
        how = story.dice.choice(("", "&how=measure"))
        shown = bench.open(f"{page}weigh/?code={code}{how}")
        form = shown.page.form(having="gross_g") or shown.page.form(having="quantity")
        if form is None:
            continue
        found = left * story.dice.choice((1, 1, 0.97, 0.8, 0))
        tare = float(line.bottle.tare or 0)
        density = float(line.bottle.density or 1)
        asked = (
            {"gross_g": f"{tare + found * density:.1f}"}
            if "gross_g" in form
            else {"quantity": f"{found:.0f}"}
        )
        told = bench.submit(shown, form, asked, form.buttons[0])
        again = told.page.main_form()
        if told.status == 422 and again and again.button("confirmed"):
            bench.submit(told, again, {}, again.button("confirmed"))
    done = story.any(count.lines.live().exclude(at=None))
    if done and story.chance(0.15):
        bench.fill_in(f"{page}bottles/{done.bottle.code}/put-back/", {"why": "Wrong bottle"})
    story.viewer.open(page)
    if story.chance(0.5):
        bench.press(page, f"{page}finish/")
    elif story.chance(0.2):
        bench.fill_in(f"{page}cancel/")
    story.viewer.open(f"{page}report/")


@act(1)
def count_on_paper(story):
    """Bring in a sheet of counted bottles."""
    bottles = story.studio.bottles.filter(remaining__gt=0).order_by("pk")[:5]
    rows = [["Bottle", "Left"]]
    rows += [[one.code, f"{float(one.remaining) * 0.9:.0f}"] for one in bottles]
    bring_in(story.bench, "counts", rows, story.chance(0.5))
