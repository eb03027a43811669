"""Whatever text comes in, reading it takes time in step with its length.

Every function of the product that is given text or a file is fed hostile text, up to 100 kB and at
the lengths where others stop, and held against harmless text of the same length.
"""

import ast
import io
import sys
from contextlib import suppress
from datetime import date
from decimal import Decimal
from itertools import product
from pathlib import Path
from types import SimpleNamespace

import pytest
from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.test import RequestFactory
from rest_framework import serializers
from rest_framework.exceptions import APIException

from inventory.steps import PRICE_BREAKS, SHIPPING_TIERS
from inventory.stock import sheets
from inventory.stock.api.own_sheet import OwnSheetIn
from inventory.stock.forms import table as table_form
from inventory.stock.forms.own_sheet import body_in, told_in
from inventory.stock.imports import columns, named_rows, opening
from inventory.stock.table import cells
from inventory.stock.table.reading import Book, RowReader
from inventory.supplies.forms.steps import StepsField
from pricing.commissions.views import address
from pricing.estimating import sizes, surfaces
from pricing.estimating.forms import planner
from pricing.management.commands import estimate
from pricing.models import SavedSurface
from pricing.starting.shelf import makes
from studio import formfields, logs, past_day, periods, pictures, tables, text, units
from studio.api import fields
from studio.api.parsers import CleanJSONParser
from studio.charts import drawing, words
from studio.errors import StudioError
from studio.money import parse_money
from studio.templatetags import amounts
from studio.transfer import parts
from studio.views.lists import words_of
from tests.pace import at_most, medians, took
from tests.test_architecture import MAY_NOT_IMPORT, ROOT, modules

LONGEST = 100_000  # [characters]
# Where readers stop: amounts of money, amounts, steps of prices, outlines.
LENGTHS = (40, 60, 300, 20_000, LONGEST)
# A reader may take so many times as long for a hostile text; of text that is refused at a glance
# the time is too short to tell.
MOST_TIMES, TOO_SHORT_TO_TELL = 20, 0.25  # [-], [s]
REFUSALS = (
    ValueError,
    StudioError,
    ValidationError,
    serializers.ValidationError,
    APIException,
    ArithmeticError,
)

NAMES = {"text", "body", "drawing"}
STUDIO = SimpleNamespace(measures="us", currency="EUR", lengths="cm", locale="en_IE")
SHEET = SimpleNamespace(table=SimpleNamespace(decimal_comma=False))
NO_SURFACES = SimpleNamespace(surfaces=[], studio=STUDIO)
US = SimpleNamespace(temperature_unit="f")
ROW = SimpleNamespace(book=Book(STUDIO, {}, {}), shown=None)
PAINT = SimpleNamespace(unit="ml", density_g_per_ml=Decimal("1.1"))
REPEATED = (
    *(
        "1",
        "1,",
        "1.",
        ",1",
        "1/",
        "1-",
        "1 ",
        "0,0 ",
        "0,0,",
        "1 at ",
        "6 at 8.5;",
        "1x",
        "1e",
        "½",
    ),
    *(
        ",",
        ".",
        ":",
        ";",
        "/",
        "-",
        "+",
        "=",
        "=1",
        "(",
        "'",
        '"',
        "<",
        "|",
        "[",
        "[1,",
        '{"a":',
        "½",
    ),
    *(
        "a",
        "at ",
        "from ",
        "e",
        "x",
        "é",
        "²",
        "１",
        "M0 0",
        " ",
        "\n",
        "a\n",
        "\t",
        "\0",
        "\u3000",
    ),
)
STARTS = ("", "1", "M0 0L")
# Given text of the product's own, or passing on what a reader below is given.
NOT_FED = {
    "_decimal of pricing/bench/frozen_pours.py": "numbers checked as they were written down",
    "__init__ of studio/transfer/tables.py": "lines of an archive, each read to a length",
    "digest of pricing/bench/pictures.py": "a picture that was prepared",
    "qr_code of inventory/stock/labelling/codes.py": "an address of this site",
    "read of studio/api/fields.py": "one for each kind of amount, all of them fed",
}


def field(kind, **options):
    """Return the reader of a field of the API, as a serializer of the studio's calls it."""
    one = kind(**options)
    holder = type("Holder", (serializers.Serializer,), {"one": one})
    context = {"request": SimpleNamespace(studio=STUDIO)}

    def read(text):
        holder(data={"one": text}, context=context).is_valid(raise_exception=True)

    return read


def steps(text):
    one = StepsField(PRICE_BREAKS)
    one.currency = "EUR"
    one.clean(text)


def as_body(read):
    return lambda text: read(text.encode())


def of_any_layout(*headings):
    """Return a reader of a sheet whose every cell is the text, below these headings."""

    def read(text):
        lines = [sheets.Line(1, headings)] if headings else []
        lines += [sheets.Line(number, (text,) * 6) for number in (2, 3)]
        lines += [sheets.Line(4, ("White", "1.50", "2"))]
        for told in (None, sheets.Told(answers={"ounces": "weight", "unpriced": "nothing"})):
            sheets.read_sheet(lines, currency="EUR", measures="us", told=told)

    return read


def told_of(text):
    query = QueryDict(mutable=True)
    query.update({"heading_row": text, "column_1": text, f"column_{text}": "name", "kept": text})
    told_in(query)
    body_in(query)


def looked_for(text):
    request = RequestFactory().get("/")
    request.GET = {"q": text}
    assert len(words_of(request)) <= 200


READERS = {
    "volume": lambda text: units.parse_volume(text, measures="us"),
    "mass": units.parse_mass,
    "length": units.parse_length,
    "count": units.parse_count,
    "size": units.parse_size,
    "temperature": lambda text: units.parse_temperature(text, "f"),
    "temperature in a form": formfields.temperature_field(US, least=-10, most=60).clean,
    "mass in a form": formfields.mass_field().clean,
    "rows pasted": cells.pasted,
    "a row as it was shown": table_form._cells_of,
    "kind in a table": cells.kind_named,
    "unit in a table": cells.unit_named,
    "unit of a size in a table": cells.unit_of_size,
    "name in a table": lambda text: RowReader._name(ROW, text),
    "supplier in a table": lambda text: RowReader._supplier(ROW, text),
    "price in a table": lambda text: RowReader._price(ROW, text),
    "amount": lambda text: units.parse_amount(text, unit="ml", measures="us", density=Decimal(1)),
    "money": lambda text: parse_money(text, "EUR"),
    "money of a place": lambda text: parse_money(text, "EUR", "de_DE"),
    "stored money": lambda text: amounts.stored_money(text, STUDIO),
    "surface": sizes.read_surface,
    "piece in an address": makes.read_piece,
    "outline": surfaces.outline,
    "outline's points": surfaces.outline_points,
    "price breaks": lambda text: PRICE_BREAKS.read(text, "EUR"),
    "price breaks, stored": lambda text: PRICE_BREAKS.check([{"min_count": 1, "price": text}]),
    "shipping": lambda text: SHIPPING_TIERS.read(text, "EUR"),
    "steps in a form": steps,
    "number in a sheet": columns.number,
    "number in a sheet, with commas": lambda text: columns.number(text, decimal_comma=True),
    "price in a sheet": lambda text: columns.price(text, "EUR"),
    "yes or no": columns.yes_or_no,
    "day": columns.day,
    "choice": lambda text: columns.choice(text, [("a", "White"), ("b", "Black")]),
    "measure in a sheet": lambda text: opening._Reader._measure(SHEET, text),
    "cell of a register": lambda text: named_rows._value(
        text, forms.DecimalField(), "", STUDIO, SHEET.table
    ),
    "size in the planner": lambda text: planner.PlannerForm._surface(NO_SURFACES, text),
    "a surface's outline": lambda text: sizes.measure(SavedSurface(), outline=text),
    "pieces of the command": estimate._count,
    "film of the command": estimate._film,
    "JSON of an archive": parts._json,
    "yes or no of an archive": parts._yes_or_no,
    "text of several lines": text.several_lines,
    "text of one line": text.one_line,
    "JSON of text": lambda words: text.clean_json([words]),
    "words in a picture": lambda words: drawing.label(0, 0, words, 90) + drawing.title(words),
    "width of words": words.width,
    "line of the log": logs.without_secrets,
    "heading": tables.folded,
    "text written to a sheet": tables.guarded,
    "text read from a sheet": tables.unguarded,
    "file of rows": as_body(tables.read_table),
    "file of rows, marked": lambda text: tables.read_table(b"\xff\xfe" + text.encode("utf-16-le")),
    "spreadsheet": lambda text: tables.read_table(b"PK\x03\x04" + text.encode()),
    "cell of a spreadsheet": lambda text: tables.read_table(
        tables.xlsx_bytes(["name"], [[text]], "Sheet")
    ),
    "file of any layout": as_body(tables.read_grid),
    "sheet of any layout": of_any_layout("Item", "Size", "Qty", "Price", "Bought", "Density"),
    "sheet of any layout, priced by weight": of_any_layout("Item", "g", "Price per kg", "Unit"),
    "sheet without headings": of_any_layout(),
    "headings of a sheet": lambda text: sheets.headings_of([sheets.Line(1, (text, "Item", text))]),
    "what is said of a sheet": told_of,
    "columns in the API": lambda text: OwnSheetIn().validate_columns(text),
    "picture": as_body(pictures.prepare),
    "picture kept": as_body(pictures.prepared_from_full),
    "number in an address": address.number_in,
    "past day": lambda text: past_day.read_past_day(text, date(2026, 5, 31)),
    "day of a period": lambda text: periods.read_period({"from": text}, date(2026, 5, 31)),
    "search": looked_for,
    "place of a bottle in a file": lambda text: opening._Reader._place(None, text),
    "volume in a form": formfields.volume_field(STUDIO).clean,
    "amount in a form": formfields.amount_field(STUDIO, PAINT, allow_zero=True).clean,
    "length in a form": formfields.length_field(STUDIO).clean,
    "size in a form": formfields.size_field(STUDIO).clean,
    "money in a form": formfields.money_field(STUDIO).clean,
    "share in a form": formfields.PercentField().clean,
    "volume in the API": field(fields.VolumeField),
    "mass in the API": field(fields.MassField),
    "length in the API": field(fields.LengthField),
    "size in the API": field(fields.SizeField),
    "money in the API": field(fields.MoneyField),
    "money of an invoice in the API": field(fields.InvoiceMoneyField),
    "amount in the API": field(fields.AmountField, allow_zero=True),
    "amount of a material in the API": lambda text: fields.read_amount(text, PAINT, STUDIO),
    "body of a call": as_body(lambda body: CleanJSONParser().parse(io.BytesIO(body))),
}  # fmt: skip  # a table: a reader a row


def fed(read, text):
    """Return a call that reads a text, whatever comes of it; refusals are sentences."""

    def call():
        with suppress(*REFUSALS):  # how long it takes is asked, and a refusal is an answer
            read(text)

    return call


def texts(length):
    """Yield hostile texts of about so many characters."""
    for start, repeated in product(STARTS, REPEATED):
        yield start + repeated * (length // len(repeated)) + "!"


@pytest.mark.parametrize("length", LENGTHS)
@pytest.mark.parametrize("name", READERS)
def test_hostile_text_is_read_about_as_fast_as_harmless_text(name, length):
    read = READERS[name]
    harmless = fed(read, "white " * (length // 6))

    with at_most(60, name):
        fair = max(TOO_SHORT_TO_TELL, MOST_TIMES * took(harmless))
        suspects = [text for text in texts(length) if took(fed(read, text)) > fair]
        slow = []
        for text in suspects:
            usual, long = medians(harmless, fed(read, text))
            if long > max(TOO_SHORT_TO_TELL, MOST_TIMES * usual):
                slow.append((text[:20], long))

    assert slow == []


def taking_text():
    """Yield (name, line) of every function that is given text or the bytes of a file."""
    for path in (path for app in MAY_NOT_IMPORT for path in modules(app)):
        for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                first = [one.arg for one in node.args.args if one.arg != "self"][:1]
                if NAMES.intersection(first):
                    yield (
                        f"{node.name} of {path}",
                        min([node.lineno, *(one.lineno for one in node.decorator_list)]),
                    )


def test_every_function_that_takes_text_is_fed():
    ran = set()

    def note(frame, event, argument):
        if event == "call" and frame.f_code.co_filename.startswith(str(ROOT)):
            path = Path(frame.f_code.co_filename).relative_to(ROOT).as_posix()
            ran.add((f"{frame.f_code.co_name} of {path}", frame.f_code.co_firstlineno))

    samples = [
        "white",
        "1",
        "1 at 2",
        "8x8in",
        "0,0 9,0 9,9",
        "2026-05-31",
        "yes",
        "a\nb\n",
        "é",
        "0 x 1",
    ]
    sys.setprofile(note)
    try:
        for read, text in product(READERS.values(), samples):
            fed(read, text)()
    finally:
        sys.setprofile(None)

    missed = {name for name, line in set(taking_text()) - ran}
    assert missed == set(NOT_FED)
