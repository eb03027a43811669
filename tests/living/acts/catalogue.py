"""What a studio works with: files brought in, and the registers of its own."""

from tests.living import tables, words
from tests.living.acts.registry import act
from tests.living.people import file_of


def bring_in(person, kind, rows, as_workbook=False):
    """Bring a file in on its page: chosen, shown, confirmed; returns the last answer."""
    name, body = ("sheet.csv", tables.as_csv(rows))
    if as_workbook:
        name, body = ("sheet.xlsx", tables.as_xlsx(rows))
    shown = person.fill_in(f"/in-and-out/import/{kind}/", {"file": file_of(name, body)})
    form = shown and shown.page.form(having="kept")
    return person.submit(shown, form) if form else shown


def material(studio, words):
    """Return a studio's material by the words in its name."""
    return studio.materials.filter(name__contains=words).order_by("pk").first()


def add_surfaces(story, person, studio, mark):
    for name, size, stock in (
        ("Tile", "10 × 10 cm × 6 mm", "Ceramic tile"),
        ("Canvas", "8 × 8 × 1½ in", "Canvas 8 in"),
    ):
        asked = {"name": f"{mark} {name}", "size": size}
        answer = person.fill_in("/surfaces/new/", asked | {"material": material(studio, stock).pk})
    return answer


def add_recipes(story, person, studio, mark):
    for name, role, trace, parts in (
        ("White base", "base", "5", (("White wall paint", "9"), ("Tap water", "1"))),
        ("Blue mix", "colour", "3", (("Pouring medium", "2"), ("Phthalo blue", "1"))),
        ("Rose mix", "colour", "3", (("Pouring medium", "2"), ("Quinacridone rose", "1"))),
        ("Black activator", "activator", "", (("Flow conditioner", "3"), ("Carbon black", "1"))),
    ):
        asked = {"name": f"{mark} {name}", "role": role, "trace_seconds": trace, "keeps_days": "60"}
        for row, (what, number) in enumerate(parts):
            asked[f"parts-{row}-parts"] = number
            asked[f"parts-{row}-what"] = f"m{material(studio, what).pk}"
        answer = person.fill_in("/recipes/new/", asked)
    return answer


def add_palette(story, person, studio, mark):
    by_role = {
        role: list(studio.recipes.filter(role=role, archived_at=None).order_by("pk"))
        for role in ("base", "activator", "colour")
    }
    asked = {"name": story.name("Harbour dusk", mark)}
    for role in ("base", "activator"):
        asked[role] = story.dice.choice(by_role[role]).pk if by_role[role] else ""
    for row, recipe in enumerate(by_role["colour"][:2]):
        asked[f"colours-{row}-recipe"] = recipe.pk
        asked[f"colours-{row}-parts"] = story.dice.choice(("1", "2", "1.5"))
    return person.fill_in("/palettes/new/", asked)


def add_kit(story, person, studio, mark):
    asked = {
        "name": f"{mark} Clear coat",
        "resin": material(studio, "Coating resin").pk,
        "hardener": material(studio, "Hardener").pk,
        "ratio_a": "1",
        "ratio_b": story.dice.choice(("1", "2")),
        "basis": "volume",
        "waste": "15",
    }
    # What nobody has read off the label yet stays empty.
    label = {
        "heat_limit_c": "50 °C",
        "cure_hours": "120",
        "handle_hours": "36",
        "pot_life_c": "23 °C",
    }
    asked |= {name: value for name, value in label.items() if story.dice.random() < 0.7}
    return person.fill_in("/resin-kits/new/", asked)


def add_channels(story, person, studio, mark):
    for name, percent, fixed, kept in (("Door", "0", "0", None), ("Market", "6.5", "0.25", None)):
        asked = {"name": f"{mark} {name}", "percent_fee": percent, "fixed_fee": fixed}
        person.fill_in("/channels/new/", asked | {"is_consignment": kept})
    shop = {"name": f"{mark} Gallery shop", "percent_fee": "40", "is_consignment": "on"}
    return person.fill_in("/channels/new/", shop)


def add_product(story, person, studio, mark):
    asked = {
        "name": f"{mark} Four coasters",
        "surface": studio.surfaces.order_by("pk").first().pk,
        "technique": studio.techniques.get(slug="bloom").pk,
        "palette": studio.palettes.order_by("pk").first().pk,
        "topcoat": studio.resin_kits.order_by("pk").first().pk,
        "pieces_each": "4",
        "packaging": material(studio, "Coaster box").pk,
        "price": "72",
    }
    return person.fill_in("/products/new/", asked)


@act(1)
def new_palette(story):
    add_palette(story, story.bench, story.studio, words.MAIN)
    story.viewer.open("/palettes/")


@act(1)
def new_surface(story):
    size = story.dice.choice(words.STRANGE_SIZES)
    asked = {"name": story.name("Tray"), "size": size}
    if story.chance(0.3):
        asked |= {"size": "", "outline": story.dice.choice(words.OUTLINES), "depth_mm": "20 mm"}
    story.bench.fill_in("/surfaces/new/", asked)
    story.viewer.open("/surfaces/")


@act(1)
def new_customer(story):
    asked = {"name": story.name(story.dice.choice(words.CUSTOMERS)), "email": "c@post.example"}
    if story.chance(0.4):
        asked["notes"] = words.MAIN + story.dice.choice(words.STRANGE)
    story.bench.fill_in("/customers/new/", asked)
    story.viewer.open("/customers/")


@act(2)
def change_a_register(story):
    """Change a row of a register, sometimes to something odd, or put it away and bring it back."""
    plural, rows = story.dice.choice(
        (
            ("customers", story.studio.customers),
            ("channels", story.studio.channels),
            ("surfaces", story.studio.surfaces),
            ("resin-kits", story.studio.resin_kits),
            ("products", story.studio.products),
        )
    )
    found = story.any(rows.filter(archived_at=None))
    if found is None:
        return
    page = f"/{plural}/{found.pk}/edit/"
    if story.chance(0.25):
        story.owner.press(page, f"/{plural}/{found.pk}/archive/")
        story.owner.open(f"/{plural}/?away=1")
        if story.chance(0.8):
            story.owner.press(f"/{plural}/?away=1", f"/{plural}/{found.pk}/archive/")
        return
    story.owner.fill_in(page, lambda form: one_changed(story, form))
    story.viewer.open(f"/{plural}/")


@act(1)
def change_a_technique(story):
    found = story.any(story.studio.techniques.all())
    story.owner.fill_in(f"/techniques/{found.pk}/edit/", lambda form: one_changed(story, form))


@act(1)
def change_a_recipe(story):
    bench = story.bench
    found = story.any(story.studio.recipes.filter(archived_at=None))
    bench.open(f"/recipes/{found.pk}/")
    bench.fill_in(f"/recipes/{found.pk}/edit/", lambda form: one_changed(story, form))


@act(1)
def change_a_material(story):
    found = story.any(story.studio.materials.filter(archived_at=None))
    story.bench.fill_in(f"/stock/{found.pk}/edit/", lambda form: one_changed(story, form))
    story.viewer.open(f"/stock/{found.pk}/")


@act(1)
def a_sheet_again(story):
    """Bring in a sheet that was brought in before, or one with an odd cell in it."""
    kind = story.dice.choice(("suppliers", "materials", "packs"))
    rows = tables.beginning(story, kind, words.MAIN)
    if story.chance(0.6):
        row = story.dice.randrange(1, len(rows))
        place = story.dice.randrange(1, len(rows[row]))
        rows[row][place] = story.dice.choice((*words.STRANGE, *words.STRANGE_NUMBERS))
        rows[row][place] = rows[row][place].replace("\0", "")
    bring_in(story.bench, kind, rows)
    story.viewer.open("/stock/")


def one_changed(story, form, odd=0.3):
    """Return a change of one or two controls of a form, now and then to something odd."""
    names = [n for n, one in form.fields.items() if one.type not in ("hidden", "file")]
    names = [n for n in names if not n.startswith(("currency", "locale"))]
    changes = {}
    for name in story.dice.sample(names, min(len(names), story.dice.choice((1, 1, 2)))):
        control = form.fields[name]
        if story.chance(odd):
            value = words.strange(story.dice, control, words.MAIN)
        else:
            value = words.plausible(story.dice, control, story.today, words.MAIN)
        if value is not None:
            changes[name] = value
    return changes
