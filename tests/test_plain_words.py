"""Words that people who tried the pages did not understand stand on none of them.

They were asked to do a week's work, without help; what they had to guess at is listed here.
"""

import ast
import re

import pytest

from tests.test_architecture import MAY_NOT_IMPORT, ROOT, modules

NOT_UNDERSTOOD = re.compile(
    r"\b(united inch|put(s|ting)? away|sets? aside|str(ike|ikes|uck|iking)|cut by|its life"
    r"|pour(s|ed|ing)? over|in and out|write-?downs?|carried at|apprais\w+|made together"
    r"|scraped back|intermittent|standard deviation)\b",
    re.IGNORECASE,
)
# What a template says to the person, between what it says to Django and to the browser.
COMMENT = re.compile(r"{% comment %}.*?{% endcomment %}|{#.*?#}", re.DOTALL)
TAG = re.compile(r"{%.*?%}|{{.*?}}", re.DOTALL)
QUOTED = re.compile(r'"([^"]*[ A-Z][^"]*)"')  # names of files, pages and parts have neither
NAMES = re.compile(r'\b(?:href|id|for|class|name|action)="[^"]*"')
PAGES = [
    *sorted((ROOT / "templates").rglob("*.html")),
    *sorted((ROOT / "templates").rglob("*.txt")),
]


def said(text):
    """Return the words of a template that are not understood."""
    text = TAG.sub(lambda tag: " ".join(QUOTED.findall(tag[0])), COMMENT.sub(" ", text))
    return [found[0] for found in NOT_UNDERSTOOD.finditer(NAMES.sub(" ", text))]


def sentences(path):
    """Yield the texts of a module that a person may read: all but docstrings and bare names."""
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef)
    spoken = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, documented) and node.body and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            spoken.add(id(node.value))  # a docstring of a field
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
            if id(node) not in spoken and " " in text.strip():
                yield text


def test_pages_and_papers_say_it_plainly():
    found = {page.name: said(page.read_text(encoding="utf-8")) for page in PAGES}

    assert PAGES and {name: words for name, words in found.items() if words} == {}


@pytest.mark.parametrize("app", MAY_NOT_IMPORT)
def test_labels_and_messages_say_it_plainly(app):
    found = {
        (path, text)
        for path in modules(app)
        if "/migrations/" not in path
        for text in sentences(path)
        if NOT_UNDERSTOOD.search(text)
    }

    assert found == set()
