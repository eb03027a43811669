"""Small recipes worked by hand, and any recipe at all, for the tests of mixing."""

from decimal import Decimal

from hypothesis import strategies as st

from inventory.mixing.proportions import Ingredient, MixRecipe, Part

D = Decimal

WATER = Ingredient("water", "Water", D("1"))
MEDIUM = Ingredient("medium", "Pouring medium", D("1.05"))
WHITE = Ingredient("white", "White (PW6)", D("1.40"))
UNWEIGHED = Ingredient("blue", "Blue (PB29)")


def mix(key, *parts, basis="volume"):
    return MixRecipe(key, key.title(), tuple(Part(of, D(n)) for of, n in parts), basis)


STOCK = mix("stock", (MEDIUM, "3"), (WATER, "1"))
WHITE_MIX = mix("white mix", (STOCK, "2"), (WHITE, "1"))

amounts = st.decimals(D("0.001"), D("5000"), places=3)
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
        MixRecipe,
        key=st.integers(),
        name=st.just("Mix"),
        parts=st.lists(part, min_size=1, max_size=3).map(tuple),
        basis=bases,
    )


nested = recipes(st.recursive(ingredients, recipes, max_leaves=8))
