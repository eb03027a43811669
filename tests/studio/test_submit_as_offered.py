"""Every form of every page, sent back untouched: nothing that the page filled in is refused."""

from urllib.parse import urldefrag

from django.contrib.messages import get_messages
from django.db import transaction
from django.forms import BaseForm, BaseFormSet

from tests.addresses import page_at
from tests.factories.world import world
from tests.walk import every_page

FOR_THE_MACHINE = {"csrfmiddlewaretoken", "once"}
# Forms that pages lead to and in which a person has to choose something first, or to wait.
TO_DECIDE = {
    "consignment-settle": "Say of at least one set what became of it.",
    "count-new": "is open since",
    "what-came": "Say what came: at least one line.",
    "order-new": "Say how many of what to order",
    "judge": "Say how at least one piece came out.",
    "batch-new": "mL short:",
    "commission-of-plan": "Choose a customer, or give a new one's name.",
}


def send(visit, form, button):
    """Send a form from its page; return the answer and its sentences of refusal.

    What it changed is taken back, and so are the browser's cookies.
    """
    client = visit.who.client
    cookies = client.cookies.copy()
    how = client.post if form.method == "post" else client.get
    action = (button and button[2]) or form.action
    referer = f"http://testserver{visit.address}"
    with transaction.atomic():
        answer = how(action, form.data(button), headers={"referer": referer})
        told = [one for one in get_messages(answer.wsgi_request) if one.level_tag == "error"]
        transaction.set_rollback(True)
    client.cookies = cookies
    return answer, [str(one) for one in told]


def bound_forms(thing):
    """Yield every form of what a page was drawn with that something was sent to."""
    if isinstance(thing, BaseForm):
        yield from [thing] if thing.is_bound else []
    elif isinstance(thing, BaseFormSet | list | tuple):
        for one in thing:
            yield from bound_forms(one)


def refusals(form, answer, told):
    """Yield (whether it is about what the page filled in, sentence) of each refusal."""
    if answer.status_code not in (200, 302, 422):
        yield True, f"status {answer.status_code}"
    contexts = answer.context if isinstance(answer.context, list) else [answer.context or ()]
    shown = [list(part.values()) for context in contexts for part in context]
    for one in {id(one): one for one in bound_forms(shown)}.values():
        for name, errors in one.errors.items():
            if one.add_prefix(name) in form.offered:
                yield True, f"{name}: {' '.join(errors)}"
            elif name == "__all__":
                yield False, " ".join(errors)
    for sentence in told:
        yield False, sentence


def _page_of(link):
    return urldefrag(link).url


def test_nothing_that_a_page_filled_in_is_refused(db):
    visits = every_page(world())
    linked = {
        link for visit in visits for link in map(_page_of, visit.links) if link != visit.address
    }
    sent, faults = set(), []

    for visit in visits:
        for form in visit.forms:
            shown = tuple(one for one in form.fields if one[0] not in FOR_THE_MACHINE)
            for button in form.buttons or [None]:
                if (visit.who, form.action, button, shown) in sent:
                    continue
                sent.add((visit.who, form.action, button, shown))
                answer, told = send(visit, form, button)
                # A whole act may have had its day (a count is over); then no page leads to it.
                leads = visit.address in linked
                for is_field, sentence in refusals(form, answer, told):
                    to_decide = TO_DECIDE.get(page_at(form.action), "\0") in sentence
                    if is_field or (leads and not form.left_blank and not to_decide):
                        faults.append(f"{visit.address} to {form.action}: {sentence}")

    assert len(sent) > 300
    assert not faults, "\n".join(faults)
