"""The house rules that a reader relies on, checked on the text of the code."""

import ast
import graphlib
import importlib
import inspect
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]
# The tests come first; then the pure parts, for the examples in their docstrings.
PURE = SETTINGS["pytest"]["ini_options"]["testpaths"][1:]
MAY_NOT_IMPORT = {"studio": {"inventory", "pricing"}, "inventory": {"pricing"}, "pricing": set()}
DJANGO = {"django", "rest_framework", "knox", "drf_spectacular", "environ"}
# The floors of each app, the lowest first: a wing imports from those below it, never from beside or
# above it.
WINGS = {
    "inventory": [{"supplies"}, {"stock"}, {"buying", "mixing"}],
    "pricing": [
        {"estimating"}, {"readiness"}, {"costing"}, {"commissions"}, {"bench", "calendar"},
        {"quoting"}, {"selling"}, {"earnings"}, {"starting"},
    ],
}  # fmt: skip  # a table: the floors in order
# What every wing may use and imports none, and what ties them together.
LOOSE = {
    "inventory": {"models", "errors", "steps", "validators", "words", "migrations"},
    "pricing": {"models", "errors", "fitness", "techniques", "migrations"},
}
TOP = {
    "inventory": {"admin", "api", "apps", "found", "management", "nav", "terms", "urls"},
    "pricing": {
        "alerts",
        "api",
        "found",
        "apps",
        "books",
        "demo",
        "exports",
        "management",
        "nav",
        "older_archives",
        "templatetags",
        "terms",
        "urls",
        "views",
    },
}
LONGEST_FILE = 350

# Absolute paths of somebody's own machine, such as a home folder.
MACHINE_PATH = re.compile(r"(?<![\w.>}/])/(?:home|root|Users|work|mnt)/[\w.]")
TEXT = {".py", ".md", ".html", ".css", ".js", ".txt", ".in", ".toml", ".yml", ".csv", ".svg", ""}


def modules(folder):
    """Return the folder's Python files, as paths from the root."""
    return sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / folder).rglob("*.py"))


def imports(path):
    """Return the full names that a file imports, wherever in it."""
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            package = Path(path).parts[: -node.level] if node.level else ()
            module = [*package, *filter(None, [node.module])]
            yield from (".".join([*module, alias.name]) for alias in node.names)


def packages(path):
    """Return the outermost packages that a file imports."""
    return {name.split(".")[0] for name in imports(path)}


@pytest.mark.parametrize("path", [path for app in MAY_NOT_IMPORT for path in modules(app)])
def test_arrows_run_one_way(path):
    assert packages(path) & MAY_NOT_IMPORT[path.split("/")[0]] == set()


def wing(path):
    """Return the wing that a file or module is in, or what else it is at the top of its app."""
    return re.split(r"[./]", path)[1] if re.search(r"[./]", path) else ""


def below(app, own):
    """Return the wings of an app that a file of one wing may import from, its own among them."""
    floors = WINGS[app]
    above = next((n for n, names in enumerate(floors) if own in names), len(floors))
    return {own} | {name for names in floors[:above] for name in names}


@pytest.mark.parametrize("path", [path for app in WINGS for path in modules(app)])
def test_wings_rest_on_those_below(path):
    app, own = path.split("/")[0], wing(path)
    if own in TOP[app]:
        return

    allowed = below(app, own) | LOOSE[app] if own not in LOOSE[app] else LOOSE[app]
    met = {name for name in imports(path) if name.split(".")[0] == app}

    assert {name for name in met if wing(name) not in allowed} == set()


def test_imports_run_in_no_circle():
    files = [path for app in MAY_NOT_IMPORT for path in modules(app)]
    named = {path.removesuffix(".py").removesuffix("/__init__").replace("/", ".") for path in files}

    def module(name):
        while name and name not in named:
            name = name.rpartition(".")[0]
        return name

    met = {}
    for path in files:
        own = path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
        met[own] = {module(name) for name in imports(path)} - {"", own}

    graphlib.TopologicalSorter(met).prepare()  # which names the circle that it comes upon


@pytest.mark.parametrize("app", WINGS)
def test_nothing_lies_beside_the_wings(app):
    wings = {name for names in WINGS[app] for name in names}
    files = {Path(path).relative_to(app).parts[0].removesuffix(".py") for path in modules(app)}

    assert files - {"__init__"} == wings | LOOSE[app] | TOP[app]


@pytest.mark.parametrize("path", [path for app in MAY_NOT_IMPORT for path in modules(app)])
def test_no_answer_depends_on_how_fast_the_machine_is(path):
    """Searches end after so many nodes or branches, never after so many seconds."""
    text = (ROOT / path).read_text(encoding="utf-8")

    assert packages(path) & {"time", "timeit"} == set()
    assert "time_limit" not in text


@pytest.mark.parametrize("path", [path for folder in PURE for path in modules(folder)])
def test_arithmetic_imports_no_django(path):
    assert packages(path) & DJANGO == set()


@pytest.mark.parametrize("path", [path for folder in PURE for path in modules(folder)])
def test_arithmetic_leans_on_arithmetic_only(path):
    pure = {folder.replace("/", ".") for folder in PURE}

    ours = {name for name in imports(path) if name.split(".")[0] in MAY_NOT_IMPORT}

    assert {
        name for name in ours if not any(f"{name}.".startswith(f"{one}.") for one in pure)
    } == set()


def test_types_are_strict_in_every_pure_part_and_service():
    strict = {
        module
        for override in SETTINGS["mypy"]["overrides"]
        if override.get("disallow_untyped_defs")
        for module in override["module"]
    }
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = guide.partition("| what changes | where |")[2].partition("\n\n")[0]
    services = re.findall(r"`([\w/]+(?:\.py)?)`", table)

    wanted = {
        path.removesuffix(".py").replace("/", ".") + ("" if path.endswith(".py") else ".*")
        for path in (*PURE, *services)
    }

    assert len(services) > 30
    assert wanted - strict == set()


@pytest.mark.parametrize(
    "path",
    ["run.py", "manage.py", *modules("launch")]
    + [path for app in MAY_NOT_IMPORT for path in modules(app) if "/migrations/" not in path],
)
def test_files_are_short(path):
    assert len((ROOT / path).read_text(encoding="utf-8").splitlines()) <= LONGEST_FILE


def public_names(folder):
    package = importlib.import_module(folder.replace("/", "."))
    return [getattr(package, name) for name in package.__all__]


def is_function(thing):
    return inspect.isfunction(inspect.unwrap(thing))


def is_measured(thing):
    """Tell whether it is a data class with numbers in it, which are nothing without their units."""
    fields = getattr(thing, "__dataclass_fields__", {}) if inspect.isclass(thing) else {}
    return any(re.search(r"Decimal|float|int\b", str(field.type)) for field in fields.values())


def documented(thing):
    """Return each argument in a docstring's Parameters with what is said of it."""
    text = inspect.getdoc(thing) or ""
    section = re.search(r"^Parameters\n-+\n(.*?)(?=^\w[^\n]*\n---|\Z)", text, re.M | re.S)
    said = {}
    names = []
    for line in (section[1] if section else "").splitlines():
        if line and not line.startswith(" "):
            names = [name.strip(" *") for name in line.split(" : ")[0].split(",")]
        for name in names:
            said[name] = said.get(name, "") + ("\n" + line if line.startswith(" ") else "")
    return said


@pytest.mark.parametrize("folder", PURE)
def test_every_argument_is_documented_with_a_unit(folder):
    functions = [thing for thing in public_names(folder) if is_function(thing)]

    bare = [
        f"{function.__name__}({name})"
        for function in functions
        for name in inspect.signature(function).parameters
        if not re.search(r"\[[^\]]+\]", documented(function).get(name, ""))
    ]

    assert functions
    assert bare == []


@pytest.mark.parametrize("folder", PURE)
def test_every_data_class_states_its_units(folder):
    measured = [thing for thing in public_names(folder) if is_measured(thing)]

    bare = [kind.__name__ for kind in measured if not re.search(r"\[[^\]]+\]", kind.__doc__ or "")]

    assert bare == []


def own_files():
    folders = ("studio", "inventory", "pricing", "templates", "tests", ".ci")
    found = [ROOT / ".gitignore", *ROOT.glob("[!.]*")]
    found += [path for folder in folders for path in (ROOT / folder).rglob("*")]
    return [
        path
        for path in found
        if path.is_file() and path.suffix in TEXT and "__pycache__" not in path.parts
    ]


def test_no_path_of_a_machine_is_written_down():
    found = [
        f"{path.relative_to(ROOT)}: {match[0]}"
        for path in own_files()
        for match in MACHINE_PATH.finditer(path.read_text(encoding="utf-8", errors="replace"))
    ]

    assert found == []
