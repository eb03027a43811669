"""Tables as files: read as people save them, refused in words where they are hostile."""

import csv
import doctest
import io
import zipfile
from datetime import UTC, date, datetime
from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from studio.tables import (
    Limits,
    TableError,
    csv_bytes,
    folded,
    formulas,
    guarded,
    read_table,
    rows,
    unguarded,
    xlsx_bytes,
)


def cells(data, **limits):
    """Return the texts of a file, row by row."""
    return [list(row.cells.values()) for row in read_table(data, Limits(**limits)).rows]


def workbook(*lines, prepare=None):
    """Return an XLSX file of one sheet, as a spreadsheet program might save it."""
    book = Workbook()
    for line in lines:
        book.active.append(line)
    if prepare:
        prepare(book)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def with_sheet(body, edit):
    """Return an XLSX file whose sheet XML was edited."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(body)) as old, zipfile.ZipFile(stream, "w", 8) as new:
        for name in old.namelist():
            data = old.read(name)
            new.writestr(name, edit(data) if name == "xl/worksheets/sheet1.xml" else data)
    return stream.getvalue()


@pytest.mark.parametrize("module", [formulas, rows])
def test_examples(module):
    assert doctest.testmod(module).failed == 0


# Encodings and dialects


@pytest.mark.parametrize("encoding", ("utf-8", "utf-8-sig", "utf-16"))
def test_unicode_is_read_as_it_was_saved(encoding):
    table = read_table("Name;Höhe\nÉmail;½\n".encode(encoding))

    assert table.headings == ("Name", "Höhe")
    assert table.rows[0].cells == {"name": "Émail", "höhe": "½"}


def test_windows_text_is_read_with_a_notice():
    table = read_table("Name,Notes\nCafé,“thick”\n".encode("cp1252"))

    assert table.rows[0].cells["notes"] == "“thick”"
    assert "Windows-1252" in table.notices[0]


def test_unicode_has_no_notice():
    assert read_table("Name,Notes\nCafé,x\n".encode()).notices == ()


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b"", "empty"),
        (b"\n \n,,\n", "empty"),
        (b"Name\n", "no rows below"),
        (b"Name\n\x81\x8d", "cannot be read as text"),
        (b"\xff\xfeN", "cut off"),
        (b"Name\na\0b", "no table"),
        ("Name\na\n".encode("utf-16-le"), "no table"),
        (b"\xd0\xcf\x11\xe0rest", "old .xls"),
        (b"PK\x03\x04broken", "cannot be read"),
        (b'Name,Price\n"white,2\n', "Line 2 cannot be read"),
        (b'Name,Price\nA,1\n"a"b,2\n', "Line 3 cannot be read: a quotation mark"),
        (b"Name,name \nA,B\n", "“Name” stands twice"),
        (b"Name,,Price\nA,B,C\n", "Line 2 has something in column 2, which has no heading"),
        (b"Name\nA,B\n", "Line 2 has something in column 2"),
    ],
)
def test_what_is_no_table_is_refused_in_words(body, sentence):
    with pytest.raises(TableError, match=sentence):
        read_table(body)


@pytest.mark.parametrize("delimiter", list(",;\t|"))
def test_the_delimiter_is_found(delimiter):
    text = f'"Name, or; so"{delimiter}B\n1{delimiter}2\n'

    assert cells(text.encode()) == [["1", "2"]]


def test_a_line_that_names_the_delimiter_is_no_heading():
    assert cells(b"sep=;\nName;Price\nA,B;2\n") == [["A,B", "2"]]


@pytest.mark.parametrize("end", ("\n", "\r\n", "\r"))
def test_lines_are_numbered_as_an_editor_shows_them(end):
    text = end.join(["", "Name,Notes", "", f'A,"two{end}lines"', ",", "B,x"])

    assert [row.line for row in read_table(text.encode()).rows] == [4, 7]


def test_headings_are_alike_whatever_stands_between_their_words():
    assert folded("Density (g/mL)") == folded("density_g_ml") == folded("DENSITY  g ml")


def test_a_comma_is_a_decimal_point_only_between_semicolons():
    assert read_table(b"A;B\n1,5;2\n").decimal_comma
    assert not read_table(b"A,B\n1.5,2\n").decimal_comma


# Limits


def test_limits_are_said_in_words():
    body = b"A,B\n" + b"1,2\n" * 3
    for limit, sentence in (
        ({"rows": 2}, "more than 2 rows"),
        ({"columns": 1}, "2 columns, and at most 1"),
        ({"body": 5}, "larger than"),
    ):
        with pytest.raises(TableError, match=sentence):
            read_table(body, Limits(**limit))
    assert len(cells(body, rows=3, columns=2, body=len(body))) == 3


def test_a_cell_that_is_too_long_is_the_fault_of_that_cell():
    table = read_table(b"Name,Notes\nA," + b"x" * 4_001 + b"\nB,ok\n")

    assert [row.faults for row in table.rows] == [
        {"notes": "This is longer than 4,000 characters."},
        {},
    ]


def test_a_cell_beyond_all_bounds_is_refused():
    with pytest.raises(TableError, match="Line 2 cannot be read"):
        read_table(b"A,B\n" + b"x" * 1_500_000 + b",2\n")


# Spreadsheets


def test_numbers_dates_and_words_of_a_spreadsheet_read_as_a_person_sees_them():
    body = workbook(
        ["Name", "a", "b", "c", "d", "e"],
        ["=x", 0.1 + 0.2, 12, date(2026, 5, 31), True, datetime(2026, 5, 31, 9, 30)],
        prepare=lambda book: setattr(book.active["A2"], "data_type", "s"),
    )

    assert cells(body) == [["=x", "0.3", "12", "2026-05-31", "yes", "2026-05-31 09:30:00"]]


def test_a_formula_without_a_value_is_the_fault_of_its_cell():
    table = read_table(workbook(["Name", "Price"], ["white", "=1+1"], ["blue", 2]))

    assert "has no value yet" in table.rows[0].faults["price"]
    assert table.rows[1].faults == {}


def test_a_formula_with_a_value_is_its_value():
    body = with_sheet(
        workbook(["Name", "Price"], ["white", "=1+1"]),
        lambda xml: xml.replace(b"<v />", b"<v>2</v>").replace(b"<v></v>", b"<v>2</v>"),
    )

    assert cells(body) == [["white", "2"]]


def test_an_error_in_a_cell_is_named():
    body = workbook(["Name", "Price"], ["white", "#DIV/0!"])

    assert "#DIV/0!" in read_table(body).rows[0].faults["price"]


def test_only_the_first_visible_sheet_is_read():
    def prepare(book):
        hidden = book.create_sheet("Old", 0)
        hidden.append(["Wrong"])
        hidden.sheet_state = "hidden"
        book.create_sheet("Notes").append(["Else"])

    table = read_table(workbook(["Name"], ["white"], prepare=prepare))

    assert table.headings == ("Name",)
    assert table.notices == ("Only the first sheet, “Sheet”, is read.",)


def test_a_zip_bomb_is_refused_before_it_is_unpacked():
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"<x/>")
        archive.writestr("xl/worksheets/sheet1.xml", b" " * 60_000_000)
    assert len(stream.getvalue()) < 100_000

    with pytest.raises(TableError, match="unpacks to more than 40 MB"):
        read_table(stream.getvalue())


def test_many_files_in_a_spreadsheet_are_refused():
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for number in range(501):
            archive.writestr(f"xl/{number}", b"")

    with pytest.raises(TableError, match="unpacks to more"):
        read_table(stream.getvalue())


def test_entities_that_multiply_are_refused():
    bomb = (
        b'<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "ha">'
        + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9))
        + b"]>"
    )
    body = with_sheet(
        workbook(["Name"], ["white"]),
        lambda xml: bomb + xml.split(b"?>", 1)[-1].replace(b"white", b"&j;"),
    )

    with pytest.raises(TableError, match="cannot be read"):
        read_table(body)


def test_a_row_a_thousand_million_lines_down_is_refused():
    body = with_sheet(
        workbook(["Name"], ["white"]), lambda xml: xml.replace(b'r="2"', b'r="1000000000"')
    )

    with pytest.raises(TableError, match="far beyond what is filled in"):
        read_table(body)


def test_rows_that_reach_far_to_the_right_are_refused():
    wide = [""] * 16_383 + ["x"]
    with pytest.raises(TableError, match="16384 columns, and at most 60"):
        read_table(workbook(wide, ["white"]))


@pytest.mark.parametrize(
    "inside",
    [
        b"<row/>" * 500_000,
        b"<row>" + b"<c/>" * 1_000_000 + b"</row>",
        b"<a>" * 500_000 + b"</a>" * 500_000,
        b"<row>" + b"<c><f>1</f></c>" * 250_000 + b"</row>",
    ],
)
def test_more_cells_than_a_full_sheet_has_are_refused_before_they_are_read(inside, monkeypatch):
    body = with_sheet(workbook(["Name"], ["white"]), lambda xml: inside * 2)
    monkeypatch.setattr("studio.tables.spreadsheets.load_workbook", pytest.fail)

    with pytest.raises(TableError, match="far beyond what is filled in"):
        read_table(body)


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_spreadsheet_packed_in_a_way_that_unpacks_at_once_is_refused(method):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as archive:
        archive.writestr("xl/workbook.xml", b" " * 30_000_000)

    with pytest.raises(TableError, match="cannot be read"):
        read_table(stream.getvalue())


def test_headings_of_commas_alone_are_read_once():
    with pytest.raises(TableError, match="no rows below"):
        read_table(b"Name" + b"," * 1_900_000)


# Writing


EVIL = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "＝1", "'=1", "''@", " =2", "plain", "'a"]


@given(st.text(max_size=12) | st.sampled_from(EVIL))
def test_marks_against_formulas_come_off_as_they_went_on(text):
    assert unguarded(guarded(text)) == text
    assert not guarded(text).lstrip().startswith(("=", "+", "-", "@", "＝", "＋", "－", "＠"))


@pytest.mark.parametrize("text", EVIL)
def test_no_written_text_is_a_formula(text):
    row = [text, D("-1.50")]

    (line,) = list(csv.reader(io.StringIO(csv_bytes(["A", "B"], [row]).decode("utf-8-sig"))))[1:]
    sheet = load_workbook(io.BytesIO(xlsx_bytes(["A", "B"], [row], "T"))).active

    assert line == [guarded(text), "-1.5"]
    assert [cell.data_type for cell in sheet[2]] == ["s", "n"]
    assert sheet["B2"].value == -1.5


def test_what_is_written_is_read_again():
    lines = [["=evil", 'say "hi"\nthere', D("0.1250"), True, date(2026, 5, 31), None]]
    headings = ["Name", "Notes", "Size", "On", "Day", "Empty"]
    expected = [["=evil", 'say "hi"\nthere', "0.125", "yes", "2026-05-31", ""]]

    assert cells(csv_bytes(headings, lines)) == expected
    assert cells(xlsx_bytes(headings, lines, "T")) == expected


def test_moments_keep_their_zone_and_odd_characters_do_no_harm():
    lines = [[datetime(2026, 5, 31, 9, 30, tzinfo=UTC), "a\x07b"]]

    assert cells(xlsx_bytes(["At", "Name"], lines, "T")) == [["2026-05-31 09:30+00:00", "a\ufffdb"]]
