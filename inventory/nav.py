"""What the stock room offers in the menu, and where what a form lacks of it is made."""

from studio.making import Maker
from studio.nav import Group, MenuEntry

GROUPS = (
    Group(
        "Stock",
        "paint-bucket",
        (
            MenuEntry("Materials", "materials", "paint-bucket", place=10),
            MenuEntry("Bottles", "bottles", "milk", place=20),
            MenuEntry("Shelf counts", "counts", "scale", place=30),
        ),
        place=50,
        is_at_hand=True,
    ),
    Group(
        "Buying",
        "shopping-basket",
        (
            MenuEntry("What to buy", "reorder", "shopping-basket", place=10),
            MenuEntry("Orders", "orders", "truck", place=20),
            MenuEntry("Suppliers", "suppliers", "store", place=30),
        ),
        place=60,
    ),
    Group(
        "Recipes",
        "flask-conical",
        (MenuEntry("Recipes", "recipes", "flask-conical", place=10),),
        90,
    ),
)

# By the name of the model.
MAKERS = {
    "material": Maker("material-new", "New material"),
    "recipe": Maker("recipe-new", "New recipe"),
    "supplier": Maker("supplier-new", "New supplier"),
}
