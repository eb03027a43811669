"""What planning, commissions, the bench, selling and profit offer in the menu; and where
what a form lacks of it is made."""

from studio.making import Maker
from studio.nav import SETTINGS, Group, MenuEntry

GROUPS = (
    Group("Today", "calendar-check", (MenuEntry("Today", "home", "calendar-check"),), 10, True),
    Group(
        "Plan",
        "ruler",
        (
            MenuEntry("Plan", "planner", "ruler", place=10),
            MenuEntry("What can I make", "producible", "package", place=20),
            MenuEntry("Prices by size", "price-list", "tag", place=30),
        ),
        place=20,
        is_at_hand=True,
    ),
    Group(
        "Commissions",
        "clipboard-list",
        (
            MenuEntry("Commissions", "commissions", "clipboard-list", place=10),
            MenuEntry("Schedule", "schedule", "calendar", place=20),
            MenuEntry("Customers", "customers", "user", place=30),
            MenuEntry("Owed", "owed", "tag", place=40),
        ),
        place=30,
        is_at_hand=True,
    ),
    Group(
        "Pours",
        "droplets",
        (
            MenuEntry("Pours", "pours", "droplets", place=10),
            MenuEntry("Work", "work", "clipboard-list", place=20),
            MenuEntry("Mixing", "mixing", "flask-conical", place=30),
            MenuEntry("Batches", "batches", "test-tubes", place=40),
            MenuEntry("How good are the estimates", "record", "target", place=50),
            MenuEntry("What made the good ones good", "good-ones", "scale", place=60),
            MenuEntry("Paired tests", "pairs", "blend", place=70),
        ),
        place=40,
    ),
    Group("Stock", "paint-bucket", (MenuEntry("In and out", "in-and-out", "download", place=40),)),
    Group(
        "Sets & sales",
        "package",
        (
            MenuEntry("Sets", "sets", "package", place=10),
            MenuEntry("Sales", "sales", "tag", place=20),
            MenuEntry("Consignment", "consignments", "store", place=30),
            MenuEntry("Channels", "channels", "wallet", place=40),
        ),
        place=70,
    ),
    Group(
        "Profit",
        "chart-line",
        (
            MenuEntry("Profit", "profit", "chart-line", place=10),
            MenuEntry("Forecast and actual", "hindsight", "target", place=20),
            MenuEntry("Break-even", "break-even", "scale", place=30),
            MenuEntry("Closing months", "closing", "lock", place=40),
        ),
        place=80,
    ),
    Group(
        "Recipes",
        "flask-conical",
        (
            MenuEntry("Palettes", "palettes", "palette", place=20),
            MenuEntry("Surfaces", "surfaces", "shapes", place=30),
            MenuEntry("Products", "products", "tag", place=40),
            MenuEntry("Techniques", "techniques", "blend", place=50),
            MenuEntry("Resin kits", "resin-kits", "test-tubes", place=60),
        ),
    ),
    Group(
        SETTINGS,
        "sliders-horizontal",
        (MenuEntry("Working days", "working-days", "clock", place=20),),
    ),
)

# By the name of the model.
MAKERS = {
    "channel": Maker("channel-new", "New channel"),
    "customer": Maker("customer-new", "New customer"),
    "palette": Maker("palette-new", "New palette"),
    "product": Maker("product-new", "New product"),
    "resinkit": Maker("resin-kit-new", "New resin kit"),
    "savedsurface": Maker("surface-new", "New size"),
}
