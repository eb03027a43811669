"""Amounts are added, taken from each other and compared in SQL by `studio.amounts` alone."""

import ast
import re
from pathlib import Path

import pytest
from django.apps import apps
from django.db.models import DecimalField

from studio import amounts

ROOT = Path(__file__).parent.parent
OURS = ("studio", "inventory", "pricing")

# Every other DecimalField holds an amount: of stock, of money, or of work.
NO_AMOUNTS = {
    "ratio": """
        studio.Studio: margin markup tax_rate deposit service_level mix_confidence cup_loss
        inventory.Delivery: rate
        inventory.RecipePart: parts
        pricing.PaletteColour: parts
        pricing.Technique: success_rate coat_success_rate
        pricing.ResinKit: ratio_a ratio_b waste
        pricing.Channel: percent_fee
        pricing.Sale: tax_rate
        pricing.Consignment: share
    """,
    "density": """
        inventory.Material: density_g_per_ml
        inventory.Bottle: density_g_per_ml
    """,
    "temperature": """
        studio.Studio: room_temperature_c
        inventory.Material: heat_limit_c
        inventory.Batch: temperature_c
        pricing.ResinKit: pot_life_c room_from_c room_to_c heat_limit_c
        pricing.Pour: room_c
        pricing.Topcoating: room_c
    """,
    "humidity of a room": """
        pricing.Pour: humidity_percent
        pricing.Topcoating: humidity_percent
    """,
    "length": """
        pricing.SavedSurface: width_mm height_mm depth_mm inset_mm inner_mm
        pricing.ResinKit: film_mm maximum_film_mm
    """,
    "time that passes, which nobody adds up": """
        inventory.Supplier: lead_days lead_sd_days
        inventory.Recipe: trace_seconds
        inventory.Batch: trace_seconds
        pricing.Pour: rest_minutes
        pricing.ResinKit: pot_life_minutes recoat_from_hours recoat_to_hours handle_hours cure_hours
        pricing.WorkingHours: hours
    """,
    "weight that is compared, and never added up": "pricing.Weighing: grams",
    "condition of a stated pot life": "pricing.ResinKit: pot_life_mass_g",
}
# Statements of SQL that the model layer does not write, and why no amount goes wrong in them.
RAW = {
    "studio/backups/filling.py": "numbers new rows after those that came back",
    "studio/backups/restoring.py": "makes and renames schemas, and reads no row",
    "studio/backups/tables.py": "writes rows as fields make them ready",
    "studio/backups/writing.py": "sets how the transaction is isolated",
    "studio/management/commands/migrate.py": "takes a lock, and reads no amount",
    "studio/closing.py": "locks a row, and reads no amount",
    "studio/transfer/writing.py": "sets how the transaction is isolated",
    "inventory/stock/shelf/compiled.py": "runs a query again, given whole numbers only",
    "inventory/stock/shelf/rows.py": "adds in steps; writes amounts as fields make them ready",
    "inventory/stock/shelf/day_uses.py": "adds in steps",
    "inventory/stock/shelf/month_ends.py": "adds in steps",
}
ADDS_UP = {"Sum", "Avg", "StdDev", "Variance", "Min", "Max"}
WORKS_OUT = {
    *("Abs", "Cast", "Ceil", "Coalesce", "ExpressionWrapper", "Floor", "Func", "Greatest"),
    *("Least", "Mod", "NullIf", "RawSQL", "Round", "Window", "Power", "Sign", "Trunc"),
}
RUNS_SQL = {"cursor", "execute", "executemany", "raw", "extra"}
EXACT = {"Plus", "Minus", "Times", "OrZero", "Total"}


def fields():
    ours = [one for one in apps.get_models() if one._meta.app_label in OURS]
    decimals = [one for model in ours for one in model._meta.local_fields]
    return {str(one): one for one in decimals if isinstance(one, DecimalField)}


def exempt():
    lines = [line.split(": ") for text in NO_AMOUNTS.values() for line in text.strip().split("\n")]
    return {f"{model.strip()}.{name}" for model, names in lines for name in names.split()}


def amount_names():
    return {one.name for name, one in fields().items() if name not in exempt()}


def test_what_is_no_amount_is_a_field_and_has_one_reason():
    assert exempt() <= fields().keys()
    words = [word for text in NO_AMOUNTS.values() for word in text.split() if word[-1] != ":"]
    assert len(exempt()) == len(words)


@pytest.mark.parametrize("name", sorted(fields()))
def test_a_row_is_exact_in_the_fifteen_digits_that_sqlite_keeps(name):
    field = fields()[name]

    assert isinstance(field, amounts.AmountField) or name in exempt()
    assert field.max_digits <= 15
    assert field.max_digits - field.decimal_places <= amounts.WHOLE_DIGITS


def called(node):
    """Return the name of what a call calls, without what it is an attribute of."""
    function = node.func if isinstance(node, ast.Call) else None
    return getattr(function, "attr", None) or getattr(function, "id", None)


def names_amount(node, names):
    """Tell whether an argument is, or may be, an amount: anything but the name of another field."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value.rpartition("__")[2] in names
    return True


def operands(node):
    if isinstance(node, ast.BinOp):
        return [*operands(node.left), *operands(node.right)]
    return operands(node.operand) if isinstance(node, ast.UnaryOp) else [node]


def inexact(source, names):
    """Yield what a module works out of amounts in SQL on its own, as the text of each place."""
    tree = ast.parse(source)
    safe = {
        id(argument) for node in ast.walk(tree) if called(node) in EXACT for argument in node.args
    }
    own = {
        alias.asname or alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and not (node.module or "").startswith("django.")
        for alias in node.names
    }
    own |= {node.name for node in ast.walk(tree) if isinstance(node, ast.ClassDef)}
    for node in ast.walk(tree):
        name = called(node)
        if name in own:
            continue
        if name in ADDS_UP and any(names_amount(one, names) for one in node.args):
            yield ast.unparse(node)
        worked_out = name in WORKS_OUT and isinstance(node.func, ast.Name)
        if worked_out and any(names_amount(one, names) for one in node.args):
            yield ast.unparse(node)
        if isinstance(node, ast.BinOp | ast.UnaryOp):
            found = [one for one in operands(node) if called(one) == "F"]
            if any(names_amount(one.args[0], names) for one in found):
                yield ast.unparse(node)
        if name == "Subquery" and id(node) not in safe:
            inside = [one for one in ast.walk(node) if called(one) in ("values", "values_list")]
            if any(names_amount(argument, names) for one in inside for argument in one.args):
                yield ast.unparse(node)


def sql_in(source):
    """Yield the texts of a module that are SQL, with what is filled in left out."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.JoinedStr):
            yield "".join(one.value for one in node.values if isinstance(one, ast.Constant))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def arithmetic(sql, names):
    """Return the places of a text of SQL that work something out of an amount's column."""
    column = rf"(?:\w+\.)?(?:{'|'.join(sorted(names))})\b"
    call = rf"\b(?:SUM|AVG|MIN|MAX|TOTAL|ROUND|ABS|CAST)\s*\(\s*{column}"
    return re.findall(rf"{call}|{column}\s*[-+*/]|[-+*/]\s*{column}", sql, re.I)


def modules(app):
    """Return the path and the text of each module of an app that the rules are for."""
    return [
        (path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8"))
        for path in sorted((ROOT / app).rglob("*.py"))
        if "migrations" not in path.parts and path != ROOT / "studio" / "amounts.py"
    ]


@pytest.mark.parametrize("app", OURS)
def test_no_module_works_amounts_out_on_its_own(app):
    found = {path: list(inexact(text, amount_names())) for path, text in modules(app)}

    assert {path: places for path, places in found.items() if places} == {}


def test_sql_is_written_only_where_it_is_known_to_be_exact():
    written = {
        path: text
        for app in OURS
        for path, text in modules(app)
        if {called(node) for node in ast.walk(ast.parse(text))} & RUNS_SQL
    }

    assert written.keys() == RAW.keys()
    texts = [sql for text in written.values() for sql in sql_in(text)]
    assert [part for sql in texts for part in arithmetic(sql, amount_names())] == []


@pytest.mark.parametrize(
    "code",
    [
        'rows.annotate(total=Sum("value"))',
        'rows.annotate(total=models.Sum("movements__value"))',
        'rows.aggregate(Avg("unit_price"))',
        'rows.aggregate(total=Sum(F("count") * F("unit_price")))',
        'rows.aggregate(total=Max("price"))',
        'rows.annotate(left=F("quantity") - F("used"))',
        'rows.annotate(owed=-F("amount"))',
        'rows.filter(gross=F("net") + F("tax"))',
        'rows.update(value=F("value") * 2)',
        "rows.annotate(left=F(name) - 1)",
        'rows.annotate(found=Coalesce(F("value"), 0))',
        'rows.annotate(found=Coalesce("rate", "value"))',
        'rows.annotate(worth=Subquery(moves.values("value")[:1]))',
        'rows.annotate(both=ExpressionWrapper(F("value"), output_field=number))',
    ],
)
def test_the_rule_sees_what_is_worked_out(code):
    assert list(inexact(code, amount_names()))


@pytest.mark.parametrize(
    "code",
    [
        'rows.aggregate(came=Sum("lines__received_count"))',
        'rows.annotate(on=Coalesce("promised_on", "due_on"))',
        'rows.filter(received_count__lt=F("count"))',
        'rows.filter(used__gt=F("quantity"))',
        'rows.annotate(left=Minus("quantity", "used"))',
        'rows.annotate(worth=OrZero(Subquery(moves.values("value")[:1])))',
        'Times(F("count") - F("received_count"), "pack__size")',
    ],
)
def test_the_rule_lets_counts_and_stored_amounts_be_compared(code):
    assert not list(inexact(code, amount_names()))


@pytest.mark.parametrize(
    "sql, is_exact",
    [
        ("SELECT SUM(remaining) FROM inventory_bottle", False),
        ("SET quantity = inventory_dayuse.quantity + excluded.quantity", False),
        ("SELECT ahead - remaining", False),
        ("SELECT id FROM inventory_bottle WHERE remaining > 0", True),
        ("UPDATE inventory_bottle SET value = %s WHERE id = %s", True),
    ],
)
def test_the_rule_reads_sql(sql, is_exact):
    assert (arithmetic(sql, amount_names()) == []) == is_exact
