"""What the guides say of the code is true of it."""

import ast
import re
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import get_commands

from launch.main import read_arguments
from pricing.techniques import TECHNIQUES

ROOT = Path(__file__).parent.parent
GUIDES = ["README.md", "DEVELOPERS.md", "docs/running.md"]
MADE_BY_RUNNING = {".venv", "papers", "papers/", ".env", ".venv/bin/python"}
SLUGS = [facts.slug for facts in TECHNIQUES]


def text_of(guide):
    return (ROOT / guide).read_text(encoding="utf-8")


def quoted(guide):
    """Return what a guide writes as code, block or word, without the blocks' comments."""
    text = text_of(guide)
    blocks = re.findall(r"```\w*\n(.*?)```", text, re.S)
    lines = [line.split("  #")[0].strip() for block in blocks for line in block.splitlines()]
    return lines + re.findall(r"`([^`\n]+)`", re.sub(r"```.*?```", "", text, flags=re.S))


def paths(guide):
    """Return what a guide writes as a file or folder of the project."""
    tops = "|".join(
        [
            "studio",
            "inventory",
            "pricing",
            "launch",
            "templates",
            "tests",
            "docs",
            "deploy",
            r"\.ci",
            r"\.venv",
        ]
    )
    file = re.compile(
        rf"(?<![\w./:{{-])(?:(?:{tops})/[\w./-]*|[\w-]+\.(?:py|md|toml|txt|in))(?![\w(])"
    )
    found = {match[0] for text in quoted(guide) for match in file.finditer(text)}
    found |= set(re.findall(r"\]\(([\w./-]+)\)", text_of(guide)))
    return found - MADE_BY_RUNNING


def exists(name):
    path = ROOT / name.rstrip(".")
    return path.exists() or path.with_suffix(".py").exists()


@pytest.mark.parametrize("guide", GUIDES)
def test_every_file_that_a_guide_names_is_there(guide):
    named = paths(guide)

    assert len(named) > 3
    assert sorted(name for name in named if not exists(name)) == []


@pytest.mark.parametrize("guide", GUIDES)
def test_every_command_that_a_guide_names_is_there(guide):
    ours = set(get_commands()) | {"runserver"}

    named = {name for text in quoted(guide) for name in re.findall(r"manage\.py (\w+)", text)}

    assert named
    assert named - ours == set()


def test_every_option_that_a_guide_gives_to_run_py_is_read():
    for guide in GUIDES:
        for text in quoted(guide):
            if found := re.match(r"python3 run\.py(?! test)(.*)", text):
                read_arguments(found[1].split())


@pytest.mark.parametrize("guide", GUIDES)
def test_every_setting_that_a_guide_names_is_read(guide):
    named = {
        name
        for text in quoted(guide)
        for name in re.findall(r"\b([A-Z][A-Z_]{4,})(?==|$)", text)
        if "_" in name
    }
    settings = (ROOT / "studio/settings.py").read_text(encoding="utf-8")

    assert sorted(name for name in named if f'"{name}"' not in settings) == []


@pytest.mark.parametrize("guide", GUIDES)
def test_every_name_of_a_model_that_a_guide_uses_is_there(guide):
    models = {model.__name__: model for model in apps.get_models()}

    dotted = [re.fullmatch(r"([A-Z]\w+)\.(\w+)", text) for text in quoted(guide)]
    named = [(match[1], match[2]) for match in dotted if match and match[1] in models]

    assert [(m, name) for m, name in named if not hasattr(models[m], name)] == []


# Every change of state is a service.

WRITERS = {
    "save", "create", "delete", "update", "bulk_create", "bulk_update", "get_or_create",
    "update_or_create", "raw", "executemany",
}  # fmt: skip  # a table of names
THIN = ["views", "api", "forms"]
# No change of the database, or the call that hands over to the service: a form, a serializer and a
# register save through `keep_row` or a service of their own.
HARMLESS = re.compile(
    r"(form|sent|checked_serializer\(.*\)|self)\.save$|super\(\)\.create$"
    r"|(attrs|self\.fields|self\.initial|vars\(\w+\)|context|params|headers)\.update$"
)


def thin_files():
    for app in ("studio", "inventory", "pricing"):
        for path in sorted((ROOT / app).rglob("*.py")):
            parts = path.relative_to(ROOT / app).parts
            if {*parts} & {*THIN, "admin.py", "management"} or path.stem.endswith("forms"):
                yield path.relative_to(ROOT).as_posix()


def writes(path):
    """Yield each call in a file that could write to the database."""
    for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        if node.func.attr in WRITERS and not HARMLESS.search(ast.unparse(node.func)):
            yield f"{path}:{node.lineno} {ast.unparse(node.func)}"


def test_pages_endpoints_forms_and_commands_write_nothing_themselves():
    assert [found for path in thin_files() for found in writes(path)] == []


# Nothing else names techniques.


def test_the_readme_names_each_technique():
    said = re.search(r"^Techniques are (.*)\.$", text_of("README.md"), re.M)[1]

    assert re.findall(r"`([^`]+)`", said) == SLUGS


@pytest.mark.parametrize("app", ["studio", "inventory", "pricing", "launch", "templates"])
def test_only_the_list_of_techniques_names_one(app):
    """The demo tells a story of blooms; common practice's amounts are written a technique a row."""
    allowed = ("pricing/techniques/", "pricing/demo/", "pricing/estimating/data/")
    word = re.compile(rf"""["'](?:{"|".join(SLUGS)})["']""")

    found = [
        f"{name}: {match[0]}"
        for path in sorted((ROOT / app).rglob("*"))
        if path.suffix in {".py", ".html"} and "migrations" not in path.parts
        if not (name := path.relative_to(ROOT).as_posix()).startswith(allowed)
        for match in word.finditer(path.read_text(encoding="utf-8"))
    ]

    assert found == []
