"""Text as it is kept, by Unicode's own lists, and in a time that goes with its length."""

import sys
import time
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.text import NO_TEXT, clean_json, one_line, several_lines

# Unicode 15, section 23.7: the 66 code points that are no characters.
NONCHARACTERS = [*range(0xFDD0, 0xFDF0), *(n for n in range(0x110000) if n & 0xFFFF >= 0xFFFE)]
OVERRIDES = [*range(0x202A, 0x202F), *range(0x2066, 0x206A)]  # UAX #9: embeddings and isolates


def test_what_is_no_text_is_what_unicode_says():
    kinds = {code: unicodedata.category(chr(code)) for code in range(sys.maxunicode + 1)}
    controls = {code for code, kind in kinds.items() if kind == "Cc"} - {0x09, 0x0A}
    surrogates = {code for code, kind in kinds.items() if kind == "Cs"}

    found = {code for code in kinds if NO_TEXT.match(chr(code))}

    assert len(NONCHARACTERS) == 66
    assert found == controls | surrogates | {*NONCHARACTERS, *OVERRIDES}


@pytest.mark.parametrize(
    ("given_text", "lines", "line"),
    [
        ("Teal", "Teal", "Teal"),
        ("two\r\nlines", "two\nlines", "two lines"),
        ("two\x0blines", "two\nlines", "two lines"),  # as office programs break a line in a cell
        ("two\u2028lines\u2029", "two\nlines\n", "two lines"),
        ("\tin", "\tin", "in"),
        (" a  b ", " a  b ", "a  b"),
        ("a\x00\x01\x07\x1b\x7f\x9fb", "ab", "ab"),
        ("a\ufffe\uffff\U0001fffe\ufdd0b", "ab", "ab"),
        ("a\ud800b", "ab", "ab"),
        ("gnp.\u202etxt", "gnp.txt", "gnp.txt"),
        ("Cafe\u0301", "Café", "Café"),
        ("\u05d0\u200f!", "\u05d0\u200f!", "\u05d0\u200f!"),  # a mark, which overrides nothing
        ("🎨 5 µL", "🎨 5 µL", "🎨 5 µL"),
    ],
)
def test_text_is_cleaned(given_text, lines, line):
    assert (several_lines(given_text), one_line(given_text)) == (lines, line)


@given(st.text(st.characters()))
def test_clean_text_stays_as_it_is(text):
    for rule in (one_line, several_lines):
        kept = rule(text)
        assert rule(kept) == kept
        assert unicodedata.is_normalized("NFC", kept)
        kept.encode()  # no database or file refuses it
    assert len(one_line(text).splitlines()) <= 1


def test_json_is_cleaned_with_the_names_in_it():
    sent = {"a\x00": ["b\x0bc", {"d": "\ud800"}], "n": 1, "f": 0.5, "none": None, "yes": True}

    assert clean_json(sent) == {
        "a": ["b\nc", {"d": ""}],
        "n": 1,
        "f": 0.5,
        "none": None,
        "yes": True,
    }


@pytest.mark.parametrize("number", [float("inf"), float("-inf"), float("nan")])
def test_json_has_no_number_that_is_none(number):
    with pytest.raises(ValueError, match="a number that is none"):
        clean_json([number])


def test_json_nested_without_end_is_refused_in_words():
    deep = []
    for _ in range(5000):
        deep = [deep]

    with pytest.raises(ValueError, match="nested too deep"):
        clean_json(deep)


@pytest.mark.parametrize(
    "hostile",
    [
        "a" + "\u0301\u0316" * 50_000,
        "\u0f73" * 100_000,
        " " * 100_000 + "x",
        "\n \t" * 33_333,
        "\x0b " * 50_000,
        "\u202e" * 100_000,
    ],
    ids=["marks", "marks of two", "blanks", "breaks", "tabs", "overrides"],
)
def test_hostile_text_takes_as_long_as_harmless_text(hostile):
    harmless = "é " * (len(hostile) // 2)

    def taken(text):
        began = time.perf_counter()
        one_line(text)
        return time.perf_counter() - began

    assert min(taken(hostile) for _ in range(3)) < 10 * min(taken(harmless) for _ in range(3))
