"""What the stock room offers in the menu, and where what a form lacks of it is made."""

from studio.making import Maker
from studio.nav import Group, MenuEntry

GROUPS = (
    Group(
        "How much",
        "ruler",
        (
            MenuEntry(
                "Recipes", "recipes", "flask-conical", 40, "What a mix is made of.", "Recipes"
            ),
        ),
        place=20,
        is_at_hand=True,
        question="How much paint does it take?",
    ),
    Group(
        "On hand",
        "paint-bucket",
        (
            MenuEntry(
                "Materials",
                "materials",
                "paint-bucket",
                10,
                "What you use, and what is left of it.",
            ),
            MenuEntry(
                "Bottles", "bottles", "milk", 20, "Each one, with its code and what is in it."
            ),
            MenuEntry("Counts", "counts", "scale", 30, "Go along the shelf and put amounts right."),
        ),
        place=40,
        is_at_hand=True,
        question="Have I got it?",
    ),
    Group(
        "Buy",
        "shopping-basket",
        (
            MenuEntry(
                "What to buy", "reorder", "shopping-basket", 10, "Which packs, where, by when."
            ),
            MenuEntry("Orders", "orders", "truck", 20, "What is on its way, and what came."),
            MenuEntry("Suppliers", "suppliers", "store", 30, "Whom you buy from, and their packs."),
        ),
        place=60,
        question="What do I buy?",
    ),
)

# By the name of the model.
MAKERS = {
    "material": Maker("material-new", "New material"),
    "recipe": Maker("recipe-new", "New recipe"),
    "supplier": Maker("supplier-new", "New supplier"),
}
