"""What the stock room offers in the menu."""

from studio.nav import Entry, Group

GROUPS = (
    Group(
        "Stock",
        "paint-bucket",
        (
            Entry("Materials", "materials", "paint-bucket", place=10),
            Entry("Bottles", "bottles", "milk", place=20),
            Entry("Shelf counts", "counts", "scale", place=30),
        ),
        place=50,
        is_at_hand=True,
    ),
    Group(
        "Buying",
        "shopping-basket",
        (
            Entry("What to buy", "reorder", "shopping-basket", place=10),
            Entry("Orders", "orders", "truck", place=20),
            Entry("Suppliers", "suppliers", "store", place=30),
        ),
        place=60,
    ),
    Group(
        "Recipes", "flask-conical", (Entry("Recipes", "recipes", "flask-conical", place=10),), 90
    ),
)
