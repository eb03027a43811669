"""Texts and numbers nobody should send, into any form and any endpoint there is."""

from tests.living import every_address, words
from tests.living.acts.registry import act

# These would end the story rather than test the product.
LEFT_ALONE = {"sign-in", "password", "people", "tokens", "start", "studio-restore", "studios"}


@act(6)
def any_form(story):
    """Fill in any form of any page: half of it as it should be, half of it not at all so."""
    routes = [
        one
        for one in every_address.pages()
        if one.name not in LEFT_ALONE | every_address.posts_only()
        and not every_address.is_for_anyone(one)
    ]
    for route in story.dice.sample(routes, 8):
        address = every_address.address_of(story, route)
        shown = story.owner.open(address) if address else None
        forms = shown.page.forms if shown and shown.status == 200 else []
        forms = [one for one in forms if not one.action.startswith(("/sign-out", "/people"))]
        if not forms:
            continue
        form, changes = story.dice.choice(forms), {}
        odd = story.dice.choice((0, 0.1, 0.5))
        for name, control in form.fields.items():
            if control.type == "hidden" and not story.chance(odd / 4):
                continue
            if name == "csrfmiddlewaretoken" or name in ("currency", "locale", "time_zone"):
                continue
            if story.chance(odd):
                value = words.strange(story.dice, control, words.MAIN)
            elif story.chance(0.7):
                value = words.plausible(story.dice, control, story.today, words.MAIN)
            else:
                continue
            if value is not None:
                changes[name] = value
        button = story.dice.choice(form.buttons) if form.buttons else None
        with story.paying_unseen():
            story.owner.submit(shown, form, changes, button)
        return


@act(4)
def any_endpoint(story):
    """Ask anything of the API, by its own description, half of it odd."""
    from tests.living import description

    for _ in range(3):
        method, address, body = description.any_request(story)
        if address:
            with story.paying_unseen():
                story.api.send(address, body, method)
