"""Palettes, recipes and mixing sheets: sums worked by hand, and laws that hold for any input."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.mixing import (
    Ingredient,
    Job,
    MixingError,
    Part,
    Recipe,
    RecipeError,
    density,
    explode,
    find_cycle,
    flatten,
    mixing_sheet,
    proportions,
    refuse_cycle,
    rounded,
    scale,
    shares,
    split,
    use_reclaimed,
)

D = Decimal

WATER = Ingredient("water", "Water", D("1"))
MEDIUM = Ingredient("medium", "Pouring medium", D("1.05"))
WHITE = Ingredient("white", "White (PW6)", D("1.40"))
UNWEIGHED = Ingredient("blue", "Blue (PB29)")


def mix(key, *parts, basis="volume"):
    return Recipe(key, key.title(), tuple(Part(of, D(n)) for of, n in parts), basis)


STOCK = mix("stock", (MEDIUM, "3"), (WATER, "1"))
WHITE_MIX = mix("white mix", (STOCK, "2"), (WHITE, "1"))

amounts = st.decimals(D("0.001"), D("5000"), places=3)
parts = st.lists(st.decimals(D("0.001"), D("999"), places=3), min_size=1, max_size=9)
ingredients = st.builds(
    Ingredient,
    key=st.sampled_from("abcdef"),
    name=st.just("Paint"),
    # One density for each key, as in a studio: a material has one.
    density_g_per_ml=st.just(D("1.2")),
).map(lambda it: Ingredient(it.key, it.name, D("0.9") + D(ord(it.key) - 97) / 10))
bases = st.sampled_from(["volume", "weight"])


def recipes(children):
    part = st.builds(Part, of=children, parts=st.decimals(D("0.1"), D("50"), places=2))
    return st.builds(
        Recipe,
        key=st.integers(),
        name=st.just("Mix"),
        parts=st.lists(part, min_size=1, max_size=3).map(tuple),
        basis=bases,
    )


nested = recipes(st.recursive(ingredients, recipes, max_leaves=8))


# Shares


def test_shares_of_parts_percentages_and_equal():
    assert shares([2, 1, 1]) == (Fraction(1, 2), Fraction(1, 4), Fraction(1, 4))
    assert shares(["60%", "40 %"]) == (Fraction(3, 5), Fraction(2, 5))
    assert shares("equal", 3) == (Fraction(1, 3),) * 3


def test_rounded_percentages_are_taken_as_the_proportions_they_mean():
    assert shares(["33%", "33%", "33%"]) == (Fraction(1, 3),) * 3


@given(parts)
def test_shares_always_add_up_to_one(given_parts):
    assert sum(shares(given_parts)) == 1


@pytest.mark.parametrize(
    ("given_parts", "count", "says"),
    [
        ([], None, "at least one colour"),
        ([1, 0], None, "above zero, not 0"),
        ([1, -2], None, "above zero, not -2"),
        ([1, D("NaN")], None, "above zero, not NaN"),
        ([float("inf")], None, "above zero, not inf"),
        (["1", "lots"], None, "not “lots”"),
        (["50%", "1"], None, "not some of each"),
        (["50%", "25%", "20%"], None, "add up to 100, not 95"),
        ("equal", None, "how many colours"),
        ("half", 2, "not “half”"),
        ([1, 1], 3, "3 colours and 2 shares"),
    ],
)
def test_shares_refuse_nonsense_in_words(given_parts, count, says):
    with pytest.raises(MixingError, match=says):
        shares(given_parts, count)


# Splitting


def test_split_into_thirds_loses_nothing():
    volumes = split(D(100), shares("equal", 3)).volumes_ml
    assert volumes == (D("33.333"), D("33.334"), D("33.333"))


def test_split_raises_a_small_colour_and_says_so():
    # 40 mL as 6:3:1 is 24, 12 and 4. The last gets 5; the other 35 mL are shared 2 to 1.
    worked = split(D(40), shares([6, 3, 1]))

    assert worked.volumes_ml == (D("23.333"), D("11.667"), D("5.000"))
    assert worked.raised == (False, False, True)
    assert worked.note.startswith("1 colour was raised to 5 mL")


def test_split_raises_a_colour_that_giving_way_made_too_small():
    # 20 mL as 60:27:13 is 12, 5.4 and 2.6. Raising the last to 5 leaves 15 mL, of which the second
    # would get 4.66: it is raised as well.
    worked = split(D(20), shares([60, 27, 13]))
    assert worked.volumes_ml == (D(10), D(5), D(5))
    assert worked.raised == (False, True, True)


def test_split_grows_the_total_when_every_colour_is_at_the_minimum():
    worked = split(D(8), shares("equal", 3))

    assert worked.volumes_ml == (D(5), D(5), D(5))
    assert worked.total_ml == 15
    assert worked.note == (
        "3 colours of at least 5 mL take 15 mL, more than the 8 mL the piece needs."
    )


def test_split_at_exactly_the_minimum_of_all_does_not_grow():
    worked = split(D(10), shares([9, 1]))
    assert (worked.volumes_ml, worked.total_ml) == ((D(5), D(5)), D(10))


@given(amounts, parts, st.decimals(D("0"), D("20"), places=2))
def test_split_adds_up_and_keeps_the_minimum(total, given_parts, minimum):
    worked = split(total, shares(given_parts), minimum)

    assert sum(worked.volumes_ml) == worked.total_ml
    assert worked.total_ml == max(total, minimum * len(given_parts))
    assert min(worked.volumes_ml) >= minimum
    assert bool(worked.note) == any(worked.raised)


@given(amounts, parts)
def test_split_without_a_minimum_is_plain_shares(total, given_parts):
    portions = shares(given_parts)
    for volume, share in zip(split(total, portions, D(0)).volumes_ml, portions, strict=True):
        assert abs(Fraction(volume) - share * Fraction(total)) < Fraction(1, 1000)


@pytest.mark.parametrize("total", [D(0), D(-1), D("NaN"), D("Infinity")])
def test_split_refuses_no_volume(total):
    with pytest.raises(MixingError, match="A volume must be a number above zero"):
        split(total, shares([1, 1]))


def test_split_refuses_shares_that_are_not_the_whole():
    with pytest.raises(MixingError, match="add up to one"):
        split(D(50), [Fraction(1, 2), Fraction(1, 3)])


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
        (lambda: Recipe("x", "Empty", ()), "“Empty” needs at least one part"),
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
    flat = Recipe("flat", "Flat", tuple(Part(of, share) for of, share in flatten(recipe).items()))
    assert flatten(flat) == flatten(recipe)
    assert density(flat) == density(recipe)


@given(st.lists(st.tuples(ingredients, st.decimals(D("0.1"), D("9"), places=1)), min_size=1))
def test_by_weight_masses_are_in_the_proportion_of_the_parts(rows):
    recipe = Recipe("w", "W", tuple(Part(of, n) for of, n in rows), "weight")
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


# Sheets


def test_scale_keeps_the_order_and_runs_the_total_on_the_scale():
    batch = scale(mix("cup", (MEDIUM, "2"), (WHITE, "1"), (WATER, "0.5")), D(70))

    assert [
        (step.name, step.ml, step.g, step.running_ml, step.running_g) for step in batch.steps
    ] == [
        ("Pouring medium", D(40), D(42), D(40), D(42)),
        ("White (PW6)", D(20), D(28), D(60), D(70)),
        ("Water", D(10), D(10), D(70), D(80)),
    ]
    assert batch.mass_g == 80


@given(nested, amounts)
def test_running_totals_are_true_and_add_up(recipe, volume):
    batch = scale(recipe, volume)
    exact = Fraction(0)
    for step, part, share in zip(batch.steps, recipe.parts, proportions(recipe), strict=True):
        exact += share * Fraction(volume) * density(part.of)
        assert abs(Fraction(step.running_g) - exact) <= Fraction("0.05")
    assert sum(step.ml for step in batch.steps) == batch.steps[-1].running_ml == volume
    assert sum(step.g for step in batch.steps) == batch.steps[-1].running_g == batch.mass_g


def test_grams_stop_at_a_part_that_cannot_be_weighed():
    batch = scale(mix("cup", (MEDIUM, "1"), (UNWEIGHED, "1"), (WATER, "1")), D(30))
    assert [step.running_g for step in batch.steps] == [D("10.5"), None, None]
    assert batch.mass_g is None
    assert batch.note.startswith("No grams from “Blue (PB29)” on.")


def test_mixing_sheet_groups_a_day_and_mixes_the_stock_first():
    base = mix("base", (STOCK, "1"), (WHITE, "1"))
    sheet = mixing_sheet(
        [
            Job(WHITE_MIX, D(30), "Tile 1"),
            Job(base, D(40), "Canvas"),
            Job(WHITE_MIX, D(30), "Tile 2"),
        ]
    )

    # 2/3 of 60 mL and 1/2 of 40 mL: 60 mL of stock.
    assert [(batch.key, batch.volume_ml, batch.labels) for batch in sheet] == [
        ("stock", D(60), ("White Mix", "Base")),
        ("white mix", D(60), ("Tile 1", "Tile 2")),
        ("base", D(40), ("Canvas",)),
    ]
    assert [step.is_mix for step in sheet[1].steps] == [True, False]


@given(st.lists(st.tuples(st.sampled_from([STOCK, WHITE_MIX]), amounts), min_size=1, max_size=6))
def test_a_sheet_mixes_exactly_what_its_cups_take(rows):
    sheet = {batch.key: batch for batch in mixing_sheet(Job(*row) for row in rows)}
    asked = sum((volume for recipe, volume in rows if recipe is STOCK), D(0))
    taken = sum((step.ml for batch in sheet.values() for step in batch.steps if step.is_mix), D(0))
    assert sheet["stock"].volume_ml == asked + taken


def test_a_trace_of_a_mix_that_shows_as_nothing_is_still_mixed():
    tinted = mix("tinted", (STOCK, "1"), (WATER, "9999"))
    stock, cup = mixing_sheet([Job(tinted, D(50))])
    assert cup.steps[0].ml == 0
    assert (stock.key, stock.volume_ml) == ("stock", D("0.1"))


def test_two_recipes_with_one_key_are_refused():
    other = mix("stock", (MEDIUM, "1"))
    with pytest.raises(RecipeError, match="two recipes with one key"):
        mixing_sheet([Job(STOCK, D(10)), Job(other, D(10))])


@given(st.lists(st.fractions(0, 1000), max_size=12), st.sampled_from([D("0.1"), D("0.001")]))
def test_rounding_never_drifts(exact, places):
    worked = rounded(exact, places)
    assert len(worked) == len(exact)
    for got, want in zip(worked, exact, strict=True):
        assert abs(Fraction(got) - want) < Fraction(places)
    assert abs(Fraction(sum(worked)) - sum(exact)) <= Fraction(places) / 2


# Reclaimed paint


@given(amounts, st.decimals(D("0"), D("5000"), places=3), st.decimals(D("0"), D("1"), places=2))
def test_reclaimed_and_fresh_make_the_need(need, kept, most):
    used = use_reclaimed(need, kept, most)
    assert used.reclaimed_ml + used.fresh_ml == need
    assert used.reclaimed_ml + used.left_ml == kept
    assert 0 <= used.reclaimed_ml <= need * most


def test_reclaimed_paint_may_be_limited_to_a_share():
    used = use_reclaimed(D(300), D(200), D("0.5"))
    assert (used.reclaimed_ml, used.fresh_ml, used.left_ml) == (D(150), D(150), D(50))


@pytest.mark.parametrize("bad", [(D(0), D(5)), (D(5), D(-1)), (D(5), D(5), D(2))])
def test_reclaimed_refuses_nonsense(bad):
    with pytest.raises(MixingError):
        use_reclaimed(*bad)
