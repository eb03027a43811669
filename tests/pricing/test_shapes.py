"""Frozen quotes and invoices from elsewhere: refused with the place, or shown on every page."""

import copy
import json
import os
import random

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from pricing.commissions.commission_holds import needs_left
from pricing.models import Invoice, Quote
from pricing.models.shapes import validate_invoice, validate_quote
from pricing.quoting.invoicing import issue_invoice
from studio.transfer.parts import value_of
from tests.conftest import member
from tests.pricing.test_studio_archive import busy_studio

pytestmark = pytest.mark.django_db
# In place of a value: another kind, one that is far too large, one that is odd.
OTHERS = (
    None, True, 7, -1, 0, 10**30, 1.5, "", "x", "NaN", "1e400", "-1", "0", "9" * 30, "x" * 30_000,
    [], {}, [1], {"a": 1}, "0001-01-01", "9999-12-31",
)  # fmt: skip  # a table of odd values
# All of it, or five values a place and the pages of ten that were taken.
ALL, SAMPLE = bool(os.environ.get("ALL_SHAPES")), 10


@pytest.fixture
def quote():
    return busy_studio().quotes.get(status="accepted", commission__title__startswith="=Coasters")


def places(value, at=()):
    """Yield the way to every part of JSON."""
    yield at
    if isinstance(value, dict | list):
        for name, one in value.items() if isinstance(value, dict) else enumerate(value):
            yield from places(one, (*at, name))


def mutants(whole):
    """Yield (what was done, JSON) for each part of it changed, removed, or with one more in it."""
    for number, at in enumerate(places(whole)):
        if not at:
            yield from ((f"all is {other!r:.30}", other) for other in OTHERS)
            continue
        for other in OTHERS if ALL else [OTHERS[(5 * number + n) % len(OTHERS)] for n in range(5)]:
            mutant = copy.deepcopy(whole)
            _inside(mutant, at)[at[-1]] = other
            yield f"{at} is {other!r:.30}", mutant
        mutant = copy.deepcopy(whole)
        del _inside(mutant, at)[at[-1]]
        yield f"{at} is gone", mutant
        mutant = copy.deepcopy(whole)
        part = _inside(mutant, (*at, None))
        if isinstance(part, dict):
            part["odd"] = 1
        elif isinstance(part, list):
            part.append(copy.deepcopy(part[0]) if part else 1)
        else:
            continue
        yield f"{at} has one more", mutant


def _inside(whole, at):
    for name in at[:-1]:
        whole = whole[name]
    return whole


def accepted(whole, validate):
    """Return the mutants that are taken; the others are refused in a sentence with a place."""
    taken = []
    for what, mutant in mutants(whole):
        try:
            validate(mutant)
        except ValidationError as refused:
            (sentence,) = refused.messages
            assert sentence.endswith(".") and len(sentence) < 300, what
        else:
            if mutant != whole:
                taken.append((what, mutant))
    return taken


def sample(taken):
    return taken if ALL else random.Random(10).sample(taken, SAMPLE)


QUOTE_PAGES = ("quote", "quote-pdf", "cost-sheet-pdf")
OTHER_PAGES = ("home", "alerts", "hindsight", "hindsight-csv", "profit", "valuation", "producible")


def test_what_is_taken_for_a_frozen_quote_can_be_shown(quote):
    owner = member(quote.studio, "owner")
    pages = [reverse(name, args=[quote.pk]) for name in QUOTE_PAGES]
    pages += [reverse(name) for name in OTHER_PAGES]
    pages.append(reverse("commission", args=[quote.commission.number]))
    taken = accepted(quote.frozen, validate_quote)
    assert len(taken) > 100  # other words, other amounts
    mine = Quote.objects.filter(pk=quote.pk)
    for what, frozen in sample(taken):
        mine.update(frozen=frozen)
        for path in pages:
            assert owner.client.get(path).status_code == 200, (what, path)
        for path in (f"quotes/{quote.pk}/", f"quotes/{quote.pk}/costs/", "alerts/"):
            assert owner.api.get(f"/api/v1/{path}").status_code == 200, (what, path)
        assert needs_left(quote.commission) is not None
        Invoice.objects.all().delete()
        issue_invoice(commission=quote.commission, by=None)


def test_what_is_taken_for_a_frozen_invoice_can_be_shown(quote):
    owner = member(quote.studio, "owner")
    invoice = issue_invoice(commission=quote.commission, by=None)
    mine = Invoice.objects.filter(pk=invoice.pk)
    for what, frozen in sample(accepted(invoice.frozen, validate_invoice)):
        mine.update(frozen=frozen)
        for path in (
            reverse("invoice-pdf", args=[invoice.number]),
            reverse("commission", args=[quote.commission.number]),
        ):
            assert owner.client.get(path).status_code == 200, (what, path)


@pytest.mark.parametrize(
    ("field", "text"),
    [
        (Quote._meta.get_field("frozen"), "[" * 100_000),
        (Quote._meta.get_field("frozen"), '{"a":' * 100_000),
        (Quote._meta.get_field("frozen"), "9" * 5_000),
        (Quote._meta.get_field("frozen"), "NaN"),
        (Quote._meta.get_field("frozen"), "1e400"),
        (Quote._meta.get_field("frozen"), '{"words": "", "words": ""}'),
        (Quote._meta.get_field("frozen"), '"\\ud800"'),
    ],
)
def test_json_that_is_none_or_no_quote_is_refused(field, text):
    with pytest.raises(ValidationError) as refused:
        value_of(field, text)
    assert refused.value.messages[0].endswith(".")


def test_the_place_is_named(quote):
    frozen = json.loads(json.dumps(quote.frozen))
    frozen["lines"][0]["cost_lines"][1]["amount"] = 1.5

    with pytest.raises(
        ValidationError, match=r"^\['lines, 1, cost_lines, 2, amount must be a plain"
    ):
        validate_quote(frozen)
