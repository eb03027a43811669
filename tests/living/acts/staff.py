"""The people: what each role may do and may not, and who comes and goes."""

from tests.living import words
from tests.living.acts.registry import act

OWNERS_ONLY = ("/settings/", "/people/", "/people/invite/", "/channels/new/", "/in-and-out/studio/")
OF_MONEY = ("/profit/", "/owed/", "/sales/", "/valuation/", "/channels/", "/invoices/")
MAKERS_ONLY = ("/batches/new/", "/pours/new/", "/stock/new/", "/commissions/new/", "/counts/new/")


@act(1.5)
def a_viewer_tries(story):
    """A viewer opens and posts what a maker may, and is refused in words."""
    page = story.dice.choice(MAKERS_ONLY)
    _refused(story, story.viewer, page)
    _refused(story, story.viewer, story.dice.choice(OWNERS_ONLY))
    if story.viewer.open(story.dice.choice(OF_MONEY)).status != 403:
        story.judge.find("a viewer is shown what is asked, owed or earned", "GET", page)


@act(0.7)
def trust_is_withdrawn(story):
    """A maker who is trusted with costs no more is refused them, and sees no value on the shelf."""
    maker = story.studio.memberships.filter(user__username="bo@studio.example").first()
    if maker is None:
        return
    story.owner.press("/people/", f"/people/{maker.pk}/role/", {"sees_costs": None})
    for page in ("/profit/", "/valuation/", "/in-and-out/import/packs/"):
        if story.maker.open(page).status != 403:
            story.judge.find("costs are open to a maker who is not trusted", "GET", page)
    if bottle := story.any(story.studio.bottles.filter(remaining__gt=0)):
        page = f"/bottles/{bottle.code}/"
        if any("worth" in text for text in story.maker.open(page).page.text):
            story.judge.find("what a bottle is worth is told to who may not see it", "GET", page)
    story.owner.press("/people/", f"/people/{maker.pk}/role/", {"sees_costs": "on"})


@act(1)
def a_maker_tries(story):
    _refused(story, story.maker, story.dice.choice(OWNERS_ONLY))


def _refused(story, person, page):
    """Send the owner's form with a person's own cookie, and see that nothing comes of it."""
    if person.open(page).status != 403:
        story.judge.find("a page is open to a role that may not use it", "GET", page)
    shown = story.owner.open(page)
    form = shown.page.main_form()
    if form is None:
        return
    own = person.open("/more/").page.form("/sign-out/")
    changes = {"csrfmiddlewaretoken": own.fields["csrfmiddlewaretoken"].values}
    if person.submit(shown, form, changes).status != 403:
        story.judge.find("a form is taken from a role that may not send it", "POST", page)


@act(1)
def roles_change(story):
    """The maker becomes a viewer and is a maker again; the last owner stays one."""
    members = {one.role: one for one in story.studio.memberships.order_by("pk")}
    maker = story.studio.memberships.filter(user__username="bo@studio.example").first()
    if maker is None:
        return
    for role in ("viewer", "maker"):
        story.owner.press("/people/", f"/people/{maker.pk}/role/", {"role": role})
        story.maker.open("/batches/new/")
    if owner := members.get("owner"):
        story.owner.press("/people/", f"/people/{owner.pk}/role/", {"role": "viewer"})


@act(0.7)
def invite_and_withdraw(story):
    asked = {"email": story.dice.choice(("dee@post.example", "x@y", words.STRANGE[0]))}
    story.owner.fill_in("/people/invite/", asked)
    shown = story.owner.open("/people/")
    waiting = story.any(story.studio.invitations.filter(used_at=None))
    form = waiting and shown.page.form(f"/people/invitations/{waiting.pk}/withdraw/")
    if form and story.chance(0.5):
        story.owner.submit(shown, form)


@act(1.5)
def a_neighbour_probes(story):
    """Somebody of another studio asks for this one's rows by their addresses, and finds nothing."""
    from tests.living import every_address

    for route in story.dice.sample(every_address.with_rows(), 6):
        address = every_address.address_of(story, route)
        if address is None or every_address.is_for_anyone(route):
            continue
        ask = story.neighbour_api.get if route.is_api else story.neighbour.open
        answer = ask(address)
        if answer.status not in (404, 405):
            story.judge.find(
                f"a neighbour is answered {answer.status}, not 404", "GET", answer.address
            )


@act(0.3)
def make_and_revoke_a_token(story):
    label = story.name("Script")
    shown = story.owner.fill_in("/tokens/", {"label": label})
    for form in shown.page.forms:
        if form.action == "/tokens/revoke/" and form.fields["label"].values == [label]:
            story.owner.submit(shown, form)


@act(0.7)
def sign_in_wrongly(story):
    shown = story.stranger.open("/sign-in/")
    form = shown.page.main_form()
    if form:
        asked = {"username": "ada@studio.example", "password": story.dice.choice(words.STRANGE)}
        story.stranger.submit(shown, form, asked)
    story.stranger.open("/stock/")
