"""Who may ask what of the API: walks over every address, so that none can be forgotten."""

import pytest
from django.db import transaction
from drf_spectacular.generators import SchemaGenerator

from tests.api.routes import address, names_a_row, operations
from tests.factories.everything import one_of_everything
from tests.studio.test_routes import ROLES

ALL = list(operations())


@pytest.fixture
def one(studio, owner):
    """One row of each kind, all the studio's."""
    everything = one_of_everything(studio)
    everything.membership = owner.membership
    return everything


def ask(person, method, name, one, body=None):
    """Ask one thing of the API, and leave everything as it was."""
    with transaction.atomic():
        answer = getattr(person.api, method)(address(name, one), {} if body is None else body)
        transaction.set_rollback(True)
    return answer


def code(answer):
    """Return the status of an answer, with the code of a refusal."""
    data = getattr(answer, "data", None) or {}
    return answer.status_code, data.get("code") if "code" in data and "detail" in data else None


def test_every_kind_of_thing_is_walked_over():
    assert len(ALL) > 120
    assert {least for _, _, least in ALL} == set(ROLES)


def test_a_stranger_is_told_to_bring_a_token(stranger, one):
    answers = {(method, name): ask(stranger, method, name, one) for method, name, _ in ALL}

    assert {code(answer) for answer in answers.values()} == {(401, "not_authenticated")}


@pytest.mark.parametrize("role", ("maker", "viewer"))
def test_a_role_below_the_least_is_refused_and_no_other(request, one, role):
    person = request.getfixturevalue(role)
    may = {(method, name): ROLES.index(role) <= ROLES.index(least) for method, name, least in ALL}

    answers = {asked: code(ask(person, *asked, one)) for asked in may}

    assert {answers[asked] for asked in may if not may[asked]} == {(403, "permission_denied")}
    assert [asked for asked in may if may[asked] and answers[asked][0] in (401, 403, 404)] == []


def test_an_owner_may_ask_everything(owner, one):
    shut = [
        (method, name)
        for method, name, _ in ALL
        if ask(owner, method, name, one).status_code in (401, 403, 404, 405)
    ]

    assert shut == []


def test_to_another_studio_it_looks_like_nothing_there(other_owner, one):
    answers = {
        (method, name): code(ask(other_owner, method, name, one))
        for method, name, _ in ALL
        if names_a_row(name)
    }

    assert len(answers) > 70
    assert [asked for asked, answer in answers.items() if answer != (404, "not_found")] == []


def test_a_list_shows_another_studio_nothing(other_owner, one):
    names = {
        str(getattr(one, row))
        for row in ("material", "supplier", "pack", "recipe", "palette", "kit", "surface")
    } | {one.channel.name, one.customer.name, one.commission.title, one.set.name, one.hold.label}
    lists = [name for method, name, _ in ALL if method == "get" and not names_a_row(name)]

    shown = {name: ask(other_owner, "get", name, one) for name in lists}

    odd = {name: answer.status_code for name, answer in shown.items() if answer.status_code != 200}
    assert odd == {"api-labels": 409}  # it has no bottle to print a label for
    # Of a picture or a paper only what can be read as text is searched.
    told = {name: answer.getvalue().decode(errors="ignore") for name, answer in shown.items()}
    assert [(name, word) for name in lists for word in names if word in told[name]] == []


def test_the_description_says_who_may_ask():
    paths = SchemaGenerator().get_schema(request=None, public=True)["paths"]
    said = [
        operation["x-least-role"]
        for operations in paths.values()
        for operation in operations.values()
        if operation["operationId"] != "schema_retrieve"
    ]

    assert sorted(said) == sorted(least for _, _, least in ALL)


def test_only_an_owner_prices_and_sends():
    owners = {(method, name) for method, name, least in ALL if least == "owner"}

    assert owners == {
        ("patch", "api-studio"),
        ("get", "api-people-list"),
        ("get", "api-people-detail"),
        ("patch", "api-working-days"),
        ("post", "api-days-off-list"),
        ("delete", "api-days-off-detail"),
        ("delete", "api-calendar-links-detail"),
        ("patch", "api-people-detail"),
        ("delete", "api-people-detail"),
        ("patch", "api-techniques-detail"),
        ("post", "api-channels-list"),
        ("patch", "api-channels-detail"),
        ("delete", "api-channels-detail"),
        ("post", "api-channels-bring-back"),
        ("post", "api-quotes-list"),
        ("post", "api-quotes-send"),
        ("post", "api-quote-link"),
        ("post", "api-payments-strike"),
        ("post", "api-invoices-list"),
        ("post", "api-invoices-credit"),
        ("delete", "api-quote-link"),
        ("post", "api-appraisals-list"),
        ("post", "api-appraisals-withdraw"),
        ("get", "api-closings-list"),
        ("post", "api-closings-list"),
        ("get", "api-closings-detail"),
        ("get", "api-closings-stock"),
        ("post", "api-closings-reopen"),
        ("get", "api-costing-changes-list"),
        ("post", "api-costing-changes-list"),
        ("post", "api-costing-changes-withdraw"),
        ("get", "api-studio-archive"),
        ("post", "api-studio-archive"),
    }


def test_a_viewer_writes_nothing_but_may_ask_for_an_estimate():
    assert {name for method, name, least in ALL if least == "viewer" and method != "get"} == {
        "api-alert-mail",
        "api-estimates",
        "api-producible",
    }
