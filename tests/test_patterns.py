"""No pattern in the code can search without end, whatever text it is given."""

import ast
import importlib
import re
from functools import cache
from itertools import product
from re import _parser as grammar

import pytest

from tests.pace import at_most, medians, took
from tests.test_architecture import MAY_NOT_IMPORT, ROOT, modules

METHODS = {"match", "fullmatch", "search", "findall", "finditer", "split", "sub", "subn"}
FLAGS = {"re.ASCII", "re.DOTALL", "re.IGNORECASE", "re.VERBOSE", "re.MULTILINE"}
CATEGORY = {"DIGIT": "1", "SPACE": " ", "WORD": "a", "NOT_WORD": "-", "NOT_DIGIT": "a"}
CATEGORY["NOT_SPACE"] = "a"
SHORT, LONG = 400, 3_200  # [characters]
MOST_ATOMS = 12  # of one kind with many members a few tell as much
# A linear reading of eight times the text takes 8 times as long, a quadratic one 64.
MOST_GROWTH = 24
TOO_SHORT_TO_TELL = 2e-4  # [s]
PATHS = [path for app in MAY_NOT_IMPORT for path in modules(app) if "/migrations/" not in path]
PATHS += ["run.py", *modules("launch")]


@cache
def trees():
    return {path: ast.parse((ROOT / path).read_text(encoding="utf-8")) for path in PATHS}


def patterns_in(path):
    """Yield (line, pattern, methods it is used with) of every pattern in a file."""
    module = importlib.import_module(path.removesuffix(".py").replace("/", "."))
    names = {}
    for node in ast.walk(trees()[path]):
        if isinstance(node, ast.Assign) and is_use(node.value) == "compile":
            names[node.value.lineno] = ast.unparse(node.targets[0]).split(".")[-1]
    for node in ast.walk(trees()[path]):
        method = is_use(node)
        if method is None or method in ("escape", "purge"):
            continue
        more = [*node.args[1:], *(one.value for one in node.keywords)]
        flags = [each for each in more if is_flag(each)]
        known = vars(module)
        text = valued(node.args[0], known)
        flag = valued(flags[0], known) if flags else 0
        name = names.get(node.lineno)
        how = used_with(name) if method == "compile" else {method}
        yield node.lineno, re.compile(text, flag), how


def is_use(node):
    """Return the function of `re` that a call is of, or None."""
    if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
        return None
    of_module = isinstance(node.func.value, ast.Name) and node.func.value.id == "re"
    return node.func.attr if of_module else None


def is_flag(node):
    return any(name in ast.unparse(node) for name in FLAGS)


def valued(node, names):
    """Return what an expression comes to with a module's names: a pattern stands in plain sight."""
    return eval(compile(ast.Expression(node), "pattern", "eval"), dict(names))


@cache
def used_with(name):
    """Return the methods that a compiled pattern is used with; all of them where none is found."""
    found = {
        node.attr
        for tree in trees().values()
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name | ast.Attribute)
        and name in (getattr(node.value, "id", None), getattr(node.value, "attr", None))
        and node.attr in METHODS
    }
    return found or {"match", "fullmatch", "search"}


def atoms(parsed):
    """Return texts that the parts of a pattern stand for, a run of plain characters as one."""
    found, plain = [], ""
    for kind, value in parsed:
        if str(kind) == "LITERAL":
            plain += chr(value)
            continue
        found, plain = [*found, plain], ""
        if str(kind) == "IN":
            found += [of_class(one) for one in value if str(one[0]) != "NEGATE"]
            if str(value[0][0]) == "NEGATE":
                found.append(next(c for c in "a1 !" if c not in found))
        elif str(kind) in ("ANY", "NOT_LITERAL"):
            found += ["a", " "]
        else:
            for inner in inner_of(value):
                found += atoms(inner)
    return list(dict.fromkeys(text for text in [*found, plain] if text))[:MOST_ATOMS]


def of_class(one):
    kind, value = str(one[0]), one[1]
    if kind == "LITERAL":
        return chr(value)
    if kind == "RANGE":
        return chr(value[0])
    return CATEGORY[str(value).removeprefix("CATEGORY_").removeprefix("UNI_")]


def inner_of(value):
    """Yield the patterns inside a part of a pattern."""
    if isinstance(value, grammar.SubPattern):
        yield value
    elif isinstance(value, list | tuple):
        for one in value:
            yield from inner_of(one)


def hostile(pattern):
    """Yield (start, what is repeated, end) of texts that are nearly what a pattern looks for."""
    text = pattern.pattern
    if isinstance(text, bytes):
        text = text.decode("latin-1")
    plain = re.sub(r"\s+", "", text) if pattern.flags & re.VERBOSE else text
    found = atoms(grammar.parse(plain, pattern.flags & ~re.VERBOSE))
    repeated = [*found, *("".join(pair) for pair in product(found, repeat=2))]
    yield from product(["", *found], repeated, ["", "~"])


def made(parts, length, pattern):
    start, repeated, end = parts
    text = start + repeated * (length // len(repeated)) + end
    return text.encode("latin-1", "replace") if isinstance(pattern.pattern, bytes) else text


def asked(pattern, method, text):
    """Return a call that puts a text to a pattern."""
    if method in ("sub", "subn"):
        return lambda: getattr(pattern, method)(text[:0], text)
    if method == "finditer":
        return lambda: list(pattern.finditer(text))
    return lambda: getattr(pattern, method)(text)


ALL = [(path, *found) for path in PATHS for found in patterns_in(path)]


def slow(pattern, method, name):
    """Return the texts for which a pattern takes more than its share longer on more text."""
    with at_most(3, name):
        texts = sorted(
            hostile(pattern),
            key=lambda parts: took(asked(pattern, method, made(parts, SHORT, pattern))),
        )
        found = []
        for parts in texts[-3:]:
            calls = [
                asked(pattern, method, made(parts, length, pattern)) for length in (SHORT, LONG)
            ]
            short, long = medians(*calls)
            if long > max(TOO_SHORT_TO_TELL, MOST_GROWTH * short):
                found.append((parts, round(long / short)))
        return found


@pytest.mark.parametrize(
    ("path", "line", "pattern", "methods"), ALL, ids=[f"{path}:{line}" for path, line, *_ in ALL]
)
def test_a_pattern_takes_steps_in_step_with_the_text(path, line, pattern, methods):
    assert [slow(pattern, method, f"{path}:{line}") for method in sorted(methods)] == [
        [] for _ in methods
    ]


def test_every_pattern_is_found():
    said = sum(
        isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id == "re"
        and node.attr in METHODS | {"compile"}
        for tree in trees().values()
        for node in ast.walk(tree)
    )

    assert len(ALL) == said > 30


@pytest.mark.parametrize("path", PATHS)
def test_patterns_are_only_made_where_they_are_found(path):
    hidden = [
        ast.unparse(node)
        for node in ast.walk(trees()[path])
        if (isinstance(node, ast.ImportFrom) and node.module == "re")
        or (
            isinstance(node, ast.Import)
            and any(one.name == "regex" or (one.name == "re" and one.asname) for one in node.names)
        )
    ]

    assert hidden == []


@pytest.mark.parametrize(
    ("pattern", "method"),
    (
        (r"\s*[-+]?\d*\.?\d+\s*,\s*[-+]?\d*\.?\d+", "fullmatch"),
        (r"(?:from\s+)?(.+?)\s*(?:\bat\b|:|=)\s*(.+)", "fullmatch"),
        (r"(\d{1,3})\s*-?\s*sided", "search"),
        (r"(a+)+b", "match"),
        (r"a+b", "search"),
    ),
)
def test_what_searches_without_end_is_seen(pattern, method):
    compiled = re.compile(pattern)

    try:
        found = slow(compiled, method, pattern)
    except AssertionError:  # it never came back by itself
        return
    assert found
