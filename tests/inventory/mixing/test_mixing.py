"""Recipes: sums worked by hand, and laws that hold for any input."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.mixing.proportions import (
    Ingredient,
    MixingError,
    MixRecipe,
    Part,
    RecipeError,
    density,
    explode,
    find_cycle,
    flatten,
    proportions,
    refuse_cycle,
    rounded,
)
from tests.inventory.mixing.mixes import (
    MEDIUM,
    STOCK,
    UNWEIGHED,
    WATER,
    WHITE,
    WHITE_MIX,
    amounts,
    ingredients,
    mix,
    nested,
)

D = Decimal

# Recipes


def test_nested_recipe_by_volume():
    # Two thirds stock, of which three quarters medium: 1/2 medium, 1/6 water, 1/3 white.
    assert flatten(WHITE_MIX) == {
        MEDIUM: Fraction(1, 2),
        WATER: Fraction(1, 6),
        WHITE: Fraction(1, 3),
    }


def test_density_of_a_nested_recipe():
    # 0.5 x 1.05 + 1 x 1/6 + 1.4 x 1/3
    assert density(WHITE_MIX) == Fraction("1.05") / 2 + Fraction(1, 6) + Fraction("1.4") / 3


def test_parts_by_weight_become_volumes_through_density():
    # 100 g of each: 71.43 mL of white and 100 mL of water, so 5 to 7 by volume.
    by_weight = mix("wash", (WHITE, "1"), (WATER, "1"), basis="weight")
    assert proportions(by_weight) == [Fraction(5, 12), Fraction(7, 12)]


def test_explode_gives_each_ingredient_in_ml_and_g():
    worked = explode(WHITE_MIX, D(120))

    assert {key: (amount.ml, amount.g) for key, amount in worked.items()} == {
        "medium": (D(60), D(63)),
        "water": (D(20), D(20)),
        "white": (D(40), D(56)),
    }


def test_explode_leaves_grams_out_where_a_density_is_unknown():
    worked = explode(mix("blue mix", (MEDIUM, "1"), (UNWEIGHED, "1")), D(50))
    assert (worked["blue"].ml, worked["blue"].g) == (D(25), None)
    assert worked["medium"].g == D("26.25")


def test_a_weight_recipe_without_a_density_is_refused_by_name():
    with pytest.raises(RecipeError, match=r"“Blue Mix” cannot be weighed.*“Blue .PB29.”"):
        explode(mix("blue mix", (MEDIUM, "1"), (UNWEIGHED, "1"), basis="weight"), D(50))


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: MixRecipe("x", "Empty", ()), "“Empty” needs at least one part"),
        (lambda: mix("x", (WATER, "1"), basis="spoon"), "by volume or by weight, not by spoon"),
        (lambda: Part(WATER, D(0)), "parts of “Water” must be a number above zero"),
        (lambda: Part(WATER, D("NaN")), "parts of “Water” must be a number above zero"),
        (lambda: Ingredient("x", "Foam", D(0)), "density of “Foam” must be a number above zero"),
    ],
)
def test_recipes_refuse_nonsense_in_words(make, says):
    with pytest.raises(MixingError, match=says):
        make()


@given(nested, amounts)
def test_recipes_conserve_volume(recipe, volume):
    assert sum(flatten(recipe).values()) == 1
    assert sum(amount.ml for amount in explode(recipe, volume).values()) == volume


@given(nested, amounts)
def test_recipes_conserve_mass(recipe, volume):
    whole = Fraction(volume) * density(recipe)
    grams = [Fraction(amount.g) for amount in explode(recipe, volume).values()]
    assert abs(sum(grams) - whole) <= Fraction("0.00005")


@given(nested)
def test_a_nested_recipe_equals_its_flattened_one(recipe):
    flat = MixRecipe(
        "flat", "Flat", tuple(Part(of, share) for of, share in flatten(recipe).items())
    )
    assert flatten(flat) == flatten(recipe)
    assert density(flat) == density(recipe)


@given(st.lists(st.tuples(ingredients, st.decimals(D("0.1"), D("9"), places=1)), min_size=1))
def test_by_weight_masses_are_in_the_proportion_of_the_parts(rows):
    recipe = MixRecipe("w", "W", tuple(Part(of, n) for of, n in rows), "weight")
    whole = sum(Fraction(n) for _, n in rows)
    for (of, n), volume in zip(rows, proportions(recipe), strict=True):
        mass = volume * Fraction(of.density_g_per_ml) / density(recipe)
        assert mass == Fraction(n) / whole


def test_shared_mixes_are_worked_out_once():
    # Each level uses the one below twice: 2**60 leaves, were the shared mix walked each time.
    recipe = STOCK
    for level in range(60):
        recipe = mix(f"level {level}", (recipe, "1"), (recipe, "2"))
    assert flatten(recipe) == flatten(STOCK)


# Cycles


def test_a_ring_of_recipes_is_named():
    graph = {1: [2], 2: [3], 3: [1], 4: [1]}
    assert find_cycle(graph) == (1, 2, 3, 1)
    with pytest.raises(RecipeError, match="Base → Stock → White → Base"):
        refuse_cycle(graph, {1: "Base", 2: "Stock", 3: "White", 4: "Day's mix"})


def test_a_recipe_inside_itself_is_a_ring():
    assert find_cycle({"base": ["base"]}) == ("base", "base")


def test_a_mix_used_twice_is_no_ring():
    graph = {"day": ["white", "blue"], "white": ["stock"], "blue": ["stock"], "stock": []}
    assert find_cycle(graph) is None
    assert refuse_cycle(graph, {}) is None


@given(st.lists(st.fractions(0, 1000), max_size=12), st.sampled_from([D("0.1"), D("0.001")]))
def test_rounding_never_drifts(exact, places):
    worked = rounded(exact, places)
    assert len(worked) == len(exact)
    for got, want in zip(worked, exact, strict=True):
        assert abs(Fraction(got) - want) < Fraction(places)
    assert abs(Fraction(sum(worked)) - sum(exact)) <= Fraction(places) / 2
