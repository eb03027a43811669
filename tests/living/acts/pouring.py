"""At the bench: pours that came out well or not, topcoats, and both undone."""

import io

from PIL import Image

from tests.living import words
from tests.living.acts.registry import act
from tests.living.people import file_of


def _lines(story):
    from pricing.models import CommissionLine

    return CommissionLine.objects.filter(
        commission__studio=story.studio, commission__status__in=("accepted", "in_work")
    )


def photograph(story):
    """Return a small picture as a phone would send it."""
    colour = tuple(story.dice.randrange(256) for _ in range(3))
    file = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(file, "JPEG")
    return file_of("pour.jpg", file.getvalue(), "image/jpeg")


def pour(story, address, count, pictured=0.15):
    """Log a pour: so many pieces, some run-off kept, with a picture by that chance."""
    dice = story.dice

    def told(form):
        base, colours = dice.randint(25, 60) * count, dice.randint(10, 25) * count
        asked = {"count": str(count), "minutes": str(dice.randint(5, 90))}
        offered = form.fields["base_mixed"].values[0] if "base_mixed" in form else ""
        if not offered or story.chance(0.3):
            asked |= {"base_mixed": f"{base} mL", "colours_mixed": f"{colours} mL"}
            asked["activator_mixed"] = dice.choice(("" if pictured < 1 else "1", "2.5 mL", "1 tsp"))
        if story.chance(0.6):
            asked |= {"base_left": "5", "base_kept": dice.choice(("", "11 mL", "7.77", "8"))}
        if story.chance(0.15):
            asked["base_reclaimed"] = "10 mL"
        if story.chance(pictured):
            asked["pictures"] = photograph(story)
        for name in form.fields:
            if "_from_" in name and story.chance(0.4):
                asked[name] = dice.choice(("10 mL", "25", "1 mL"))
        for name, wanted in (
            ("surface", story.any(story.studio.surfaces.filter(archived_at=None))),
            ("technique", story.any(story.studio.techniques.filter(is_offered=True))),
            ("palette", story.any(story.studio.palettes.filter(archived_at=None))),
        ):
            if name in form:
                asked[name] = wanted and wanted.pk
        return asked

    return story.bench.fill_in(address, told)


@act(7, lambda story: _lines(story).exists())
def pour_for_a_commission(story):
    line = story.any(_lines(story))
    wanted = line.quantity * line.pieces_each
    story.bench.open("/work-list/")
    pour(story, f"/pours/new/?line={line.pk}", max(1, min(wanted, 6)))
    story.viewer.open(f"/commissions/{line.commission.number}/")


@act(2)
def pour_for_stock(story):
    pour(story, "/pours/new/", story.dice.randint(1, 4))
    story.viewer.open("/pours/")


@act(1)
def pour_by_a_program(story):
    studio = story.studio
    surface = story.any(studio.surfaces.filter(archived_at=None))
    palette = story.any(studio.palettes.filter(archived_at=None))
    if not surface or not palette:
        return
    layers = [
        {"layer": "base", "mixed_ml": "33.3333", "left_ml": "1", "kept_ml": "7.7"},
        {"layer": "colours", "mixed_ml": "12"},
    ]
    body = {"surface": surface.pk, "technique": "bloom", "palette": palette.pk}
    body |= {"count": 1, "minutes": "12", "layers": layers}
    story.api.send("pours/", body)


@act(4, lambda story: story.studio.pours.exists())
def note_moves(story):
    """Say how a pour was moved: as last time where that is offered, or one by one."""
    dice, found = story.dice, story.any(story.studio.pours.all())
    page = f"/pours/{found.number}/"

    def told(form):
        asked = {"heat": dice.choice(("", "none", "torch")), "covered": dice.choice(("", "yes"))}
        asked["moves"] = form.fields["moves"].offered()[: dice.randint(0, 2)]
        asked["rest_minutes"] = dice.choice(("", "0", "2.5", "90000"))
        asked |= {name: dice.choice(("", "4.5")) for name in form.fields if "trace_" in name}
        return asked

    if story.chance(0.5):
        story.bench.press(page, f"{page}as-before/")
    else:
        story.bench.fill_in(f"{page}moves/", told)
    story.api.send(f"pours/{found.number}/note-moves/", {"moves": ["tilt", "spin"]})


@act(3, lambda story: story.studio.pours.exists())
def weigh(story):
    """Weigh a piece that dries, and now and then take a weight back."""
    dice, found = story.dice, story.any(story.studio.pours.all())
    page = f"/pours/{found.number}/"
    asked = {"piece": "1", "grams": dice.choice(("212.4", "209", "0", "1e9", "208.98"))}
    story.bench.fill_in(f"{page}weigh/", asked)
    story.api.send("weighings/", {"pour": found.number, "piece": 1, "grams": "209.1"})
    if story.chance(0.3) and (row := story.studio.weighings.last()):
        page = f"/pours/{row.piece.pour.number}/"
        story.bench.press(page, f"{page}weighings/{row.pk}/remove/")


@act(5, lambda story: story.studio.pours.exists())
def topcoat(story):
    pours = story.studio.pours.filter(line__topcoat__isnull=False) or story.studio.pours.all()
    found = story.any(pours)
    kit = story.any(story.studio.resin_kits.filter(archived_at=None))
    asked = {"kit": kit and kit.pk, "mixed_ml": story.dice.choice(("40 mL", "150", "¼ cup", "3 L"))}
    asked |= {"minutes": "20"}
    story.bench.fill_in(f"/pours/{found.number}/topcoat/", asked)
    story.viewer.open(f"/pours/{found.number}/")


@act(8, lambda story: story.studio.pours.exists())
def judge_pieces(story):
    """Say how the pieces of a pour came out, now or as a correction; some are left open."""
    dice, found = story.dice, story.any(story.studio.pours.all())
    verdicts = ("good", "good", "good", "second", "failed", "")

    def told(form):
        asked = {"rest": "on"} if story.chance(0.4) and "rest" in form else {}
        for name in form.fields:
            if name.endswith("-verdict") and story.chance(0.7):
                asked[name] = dice.choice(verdicts)
                start = name.removesuffix("verdict")
                if asked[name] == "failed":
                    asked[f"{start}faults"] = form.fields[f"{start}faults"].offered()[:2]
                if asked[name] and story.chance(0.5):
                    asked |= {f"{start}cells": str(dice.randint(1, 5)), f"{start}note": "Edge thin"}
                if asked[name] and story.chance(0.1):
                    asked[f"{start}pictures"] = photograph(story)
        return asked

    story.bench.open("/work-list/")
    story.bench.fill_in(f"/pours/{found.number}/judge/", told)
    story.viewer.open(f"/pours/{found.number}/")
    story.viewer.open(f"/pours/{found.number}/pieces/1/")


@act(1, lambda story: story.studio.pours.exists())
def judge_by_a_program(story):
    found = story.any(story.studio.pours.all())
    piece = {"piece": story.dice.randint(1, found.count), "verdict": "good", "composition": 4}
    story.api.send(f"pours/{found.number}/judge/", {"pieces": [piece]})


@act(2, lambda story: story.studio.pieces.filter(state="failed").exists())
def recover_a_surface(story):
    found = story.any(story.studio.pieces.filter(state="failed"))
    story.bench.fill_in(f"/pours/{found.pour.number}/pieces/{found.number}/recover/")
    story.viewer.open("/ledger/")


@act(2, lambda story: story.studio.pours.exists())
def undo_a_pour_or_topcoat(story):
    bench = story.bench
    found = story.any(story.studio.pours.all())
    page = f"/pours/{found.number}/"
    coat = story.any(found.topcoatings.all())
    why = {"why": story.dice.choice(words.REASONS)}
    if coat and story.chance(0.6):
        bench.fill_in(f"{page}topcoat/{coat.pk}/undo/", why)
    else:
        bench.fill_in(f"{page}undo/", why)
    for seen in ("/", "/profit/", "/sets/", "/record/"):
        story.viewer.open(seen)


@act(2, lambda story: story.studio.pours.exists())
def pour_it_again(story):
    found = story.any(story.studio.pours.all())
    page = f"/pours/{found.number}/again/"
    story.viewer.open(page)
    story.bench.press(page, f"/pours/{found.number}/old-mixes/")
    story.api.get(f"pours/{found.number}/again/")


@act(1, lambda story: story.studio.pours.exists())
def set_a_pour_aside(story):
    found = story.any(story.studio.pours.all())
    story.bench.fill_in(f"/pours/{found.number}/set-aside/", {"why": "Draughty day"})
    story.viewer.open("/record/")


@act(1, lambda story: story.studio.commissions.exists())
def add_a_picture(story):
    bench = story.bench
    studio = story.studio
    kinds = ("commissions", "pours", "sets")
    plural = story.dice.choice([one for one in kinds if getattr(studio, one).exists()])
    found = story.any(getattr(studio, plural))
    page = f"/{plural}/{found.number}/"
    asked = {"pictures": photograph(story), "caption": story.name("Corner")}
    if story.chance(0.2):
        asked["pictures"] = file_of("pour.jpg", b"not a picture", "image/jpeg")
    bench.press(page, f"{page}pictures/", asked)
    picture = story.any(studio.pictures.all())
    if picture:
        bench.fill_in(f"/pictures/{picture.pk}/edit/", {"caption": story.name("Edge")})
        if story.studio.pictures.count() > 1 and story.chance(0.4):
            bench.fill_in(f"/pictures/{picture.pk}/remove/")


def draw_a_pair(story):
    """Draw a pair of tiles like those of an earlier pour."""
    found = story.any(story.studio.pours.all())
    if found:
        same = (
            f"surface={found.surface_id}&technique={found.technique_id}&palette={found.palette_id}"
        )
        story.bench.fill_in(f"/pairs/new/?change=straw&base={found.base}&{same}")


@act(3, lambda story: story.studio.pours.exists())
def try_one_change(story):
    """Draw a pair, or go on with one: poured, rated, revealed; the last too early now and then."""
    dice, test = story.dice, story.any(story.studio.paired_tests.filter(revealed_at=None))
    if test is None or story.chance(0.3):
        draw_a_pair(story)
        return
    page = f"/pairs/{test.number}/"
    if test.is_poured:
        ratings = {"first": str(dice.randint(1, 5)), "second": str(dice.randint(1, 5))}
        story.bench.fill_in(f"{page}rate/", ratings)
        story.bench.press(page, f"{page}reveal/")
    else:
        like = story.any(story.studio.pours.filter(count__gte=2, palette=test.palette_id))
        story.bench.fill_in(f"{page}poured/", {"pour": like and like.pk})
    story.api.send(f"pairs/{test.number}/reveal/")
    story.viewer.open("/pairs/")
    story.viewer.open("/good-ones/")
