"""Words of the trade say what they mean where they stand."""

import re

import pytest

from studio.terms import meaning, terms
from tests.conftest import member
from tests.factories.bench import working_studio

TAG = re.compile(r'{% term "([^"]+)" %}')


def test_every_word_that_a_template_explains_is_known(settings):
    named = {
        word.lower()
        for template in (settings.BASE_DIR / "templates").rglob("*.html")
        for word in TAG.findall(template.read_text(encoding="utf-8"))
    }

    assert named and named <= terms.keys()


@pytest.mark.parametrize(
    ("label", "known"), [("Margin (%)", True), ("DENSITY (g/mL)", True), ("Name", False)]
)
def test_a_label_is_known_without_its_unit(label, known):
    assert bool(meaning(label)) is known


@pytest.mark.django_db
def test_a_word_is_explained_beside_a_field_and_on_a_page():
    """Each explanation has an id of its own, which its button names."""
    owner = member(working_studio().studio, "owner").client
    settings = owner.get("/settings/").content.decode()
    palettes = owner.get("/palettes/").content.decode()

    for page, words in ((settings, ("margin",)), (palettes, ("base coat",))):
        targets = re.findall(r'popovertarget="([^"]+)"', page)
        assert len(targets) == len(set(targets)) > 0
        assert all(f'id="{target}" popover' in page for target in targets)
        assert all(terms[word] in page for word in words)
