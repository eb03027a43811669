"""What pieces are fit for, against what sellers of resin publish, as facts of the trade.

Clear table epoxy gives way at 38 to 54 °C, where a hot cup leaves a ring; another seller says
nothing at or above 74 °C; a coaster maker's own resin takes cups, to 90 °C. Coasters are sold from
89 to 127 mm (common practice).
"""

from datetime import date
from decimal import Decimal as D

import pytest

from pricing.fitness import (
    FOOD,
    HOT,
    LOOK,
    NO_FOOD,
    Finish,
    counts_as,
    doubts,
    heat_words,
    told_of_each,
    words_of,
)
from pricing.selling.care_words import care_words

A_DAY = date(2026, 5, 12)


@pytest.mark.parametrize(
    ("finish", "heat", "tag"),
    [
        (
            Finish((D(38),)),
            "limit of 38 °C (100 °F). Put nothing hotter",
            "mat under hot cups",
        ),
        (Finish((D("82.5"), D(50))), "heat limit of 50 °C (122 °F). Put", "mat under hot cups"),
        (
            Finish((D(74),)),
            "use a mat under hot cups",
            "No more than 74 °C (165 °F): mat",
        ),
        (
            Finish((D(90),)),
            "limit of 90 °C (194 °F). Put nothing hotter on it, such as a pan",
            "pans",
        ),
        (Finish((D(120), D(90))), "a heat limit of 90 °C", "No more than 90 °C"),
        (Finish((None,)), "No heat limit is known for this resin", "Nothing hot on it"),
        (Finish((D(120), None)), "No heat limit is known for this resin", "Nothing hot on it"),
        (Finish((D(120),), has_bare=True), "put nothing hot or wet on it", "Nothing hot or wet"),
        (Finish(has_bare=True), "put nothing hot or wet on it", "Nothing hot or wet on it"),
        (Finish(), "put nothing hot or wet on it", "Nothing hot or wet on it"),
    ],
)
@pytest.mark.parametrize("use", ["", HOT, FOOD, LOOK])
def test_what_is_not_known_has_the_strictest_words(use, finish, heat, tag):
    words = care_words(use, finish, A_DAY)

    assert heat in words.heat
    assert tag in words.tag[0]
    assert words.food == NO_FOOD == "Not for contact with food. Use a plate."
    assert words.heat in words_of(use, finish) and NO_FOOD in words_of(use, finish)
    assert words.ready == "Use it from 12 May 2026: until then it goes on curing."
    assert "No dishwasher" in words.cleaning


def test_no_resin_is_called_proof_against_heat():
    finishes = [Finish(), Finish((None,)), *(Finish((D(limit),)) for limit in (38, 54, 90, 260))]

    assert not [one for one in finishes if "proof" in heat_words(one).lower()]


def test_without_a_known_day_it_says_to_ask_first():
    words = care_words(HOT, Finish((D(90),)), None)

    assert words.ready.startswith("Ask us before you use it")
    assert words.tag[2] == "Ask us before you use it"


@pytest.mark.parametrize(
    ("use", "longest_mm", "pieces", "counted"),
    [
        ("", 89, 1, HOT),
        ("", 114, 1, HOT),
        ("", 127, 1, HOT),
        ("", D("127.1"), 1, FOOD),
        ("", 406, 1, FOOD),
        ("", 250, 4, HOT),
        (LOOK, 89, 4, LOOK),
        (FOOD, 89, 1, FOOD),
        (HOT, 406, 1, HOT),
    ],
)
def test_what_nobody_has_said_is_never_only_to_look_at(use, longest_mm, pieces, counted):
    assert counts_as(use, longest_mm=D(longest_mm), pieces_each=pieces) == counted


@pytest.mark.parametrize(
    ("use", "finish", "codes"),
    [
        (HOT, Finish(), ["no_resin_for_cups"]),
        (HOT, Finish((D(90),), has_bare=True), ["no_resin_for_cups"]),
        (HOT, Finish((None,)), ["heat_limit_not_known"]),
        (HOT, Finish((D(54),)), ["heat_limit_too_low"]),
        (HOT, Finish((D(74),)), ["heat_limit_too_low"]),
        (HOT, Finish((D("89.9"),)), ["heat_limit_too_low"]),
        (HOT, Finish((D(90),)), []),
        (HOT, Finish((D(90),), cure_known=False), ["full_cure_not_known"]),
        (HOT, Finish((None,), cure_known=False), ["heat_limit_not_known", "full_cure_not_known"]),
        (FOOD, Finish(), ["no_resin_for_food"]),
        (FOOD, Finish((None,)), []),
        (FOOD, Finish((D(50),), cure_known=False), ["full_cure_not_known"]),
        (LOOK, Finish(), []),
        (LOOK, Finish((None,), cure_known=False), []),
    ],
)
def test_what_speaks_against_a_use(use, finish, codes):
    assert [one.code for one in doubts(use, finish)] == codes


def test_of_what_is_made_the_cure_is_told_by_its_day():
    assert doubts(HOT, Finish((D(90),), cure_known=False), is_made=True) == ()


def test_what_is_said_of_all_is_said_once_and_the_rest_by_name():
    bare, coated = words_of("", Finish()), words_of(LOOK, Finish((D(50),)))

    told = told_of_each([("Set 1", bare), ("Set 2", coated), ("Set 3", bare)])

    assert told == [
        f"Set 1, Set 3: {heat_words(Finish())}",
        NO_FOOD,
        "Set 2: It is made to look at: put no cups and no food on it.",
        f"Set 2: {heat_words(Finish((D(50),)))}",
    ]
    assert told_of_each([]) == []
