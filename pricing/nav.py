"""What the wings offer in the menu, and where what a form lacks of them is made.

The groups are the questions of a studio's week, in their order, between today and the settings.
"""

from studio.making import Maker
from studio.nav import SETTINGS, Group, MenuEntry

GROUPS = (
    Group(
        "Today",
        "calendar-check",
        (MenuEntry("Today", "home", "calendar-check", why="A price at once, and the day's work."),),
        10,
        True,
    ),
    Group(
        "How much",
        "ruler",
        (
            MenuEntry("A piece", "planner", "ruler", 10, "Paint and price of any size."),
            MenuEntry(
                "What can I make", "producible", "package", 20, "How many, with what is there."
            ),
            MenuEntry("Mixing", "mixing", "flask-conical", 30, "Cups to mix for accepted work."),
            MenuEntry("Palettes", "palettes", "palette", 50, "Which mixes go together.", "Recipes"),
            MenuEntry("Sizes", "surfaces", "shapes", 60, "Tiles and canvases you use.", "Recipes"),
            MenuEntry(
                "Techniques",
                "techniques",
                "blend",
                70,
                "How you pour, and how long it takes.",
                "Recipes",
            ),
            MenuEntry(
                "Resin kits", "resin-kits", "test-tubes", 80, "Resin and hardener.", "Recipes"
            ),
        ),
        place=20,
    ),
    Group(
        "Commissions",
        "clipboard-list",
        (
            MenuEntry(
                "Commissions",
                "commissions",
                "clipboard-list",
                10,
                "Who asked for what, and quotes.",
            ),
            MenuEntry("Work", "work", "droplets", 20, "What to pour, coat, pack and hand over."),
            MenuEntry("Schedule", "schedule", "calendar", 30, "When each can be ready."),
            MenuEntry("Customers", "customers", "user", 40, "Who they are, and what they bought."),
            MenuEntry("Owed", "owed", "tag", 50, "Who has yet to pay what."),
        ),
        place=30,
        is_at_hand=True,
        question="What is asked of me?",
    ),
    Group(
        "On hand",
        "paint-bucket",
        (
            MenuEntry(
                "Import and export", "in-and-out", "download", 40, "Spreadsheets in, files out."
            ),
        ),
    ),
    Group(
        "Charge",
        "tag",
        (
            MenuEntry("Prices by size", "price-list", "tag", 10, "What to ask for each size."),
            MenuEntry("Products", "products", "package", 20, "What you make without an order."),
            MenuEntry(
                "Break-even", "break-even", "scale", 30, "How many must be sold to cover a month."
            ),
        ),
        place=50,
        question="What do I charge?",
    ),
    Group(
        "Poured",
        "droplets",
        (
            MenuEntry("Pours", "pours", "droplets", 10, "What was poured, and how it came out."),
            MenuEntry("Batches", "batches", "test-tubes", 20, "Mixes made ahead."),
            MenuEntry(
                "How good are the estimates",
                "record",
                "target",
                30,
                "Each forecast beside what was used.",
                "What pours teach",
            ),
            MenuEntry(
                "What made the good ones good",
                "good-ones",
                "scale",
                40,
                "Mixes and rooms of good pieces beside the rest.",
                "What pours teach",
            ),
            MenuEntry(
                "Paired tests", "pairs", "blend", 50, "One change, tried twice.", "What pours teach"
            ),
        ),
        place=70,
        question="What did it really take?",
    ),
    Group(
        "Earned",
        "chart-line",
        (
            MenuEntry("Profit", "profit", "chart-line", 10, "What each set earned.", "Profit"),
            MenuEntry(
                "Forecast and actual",
                "hindsight",
                "target",
                20,
                "Which prices were right.",
                "Profit",
            ),
            MenuEntry(
                "Closing months",
                "closing",
                "lock",
                30,
                "Keep a month as it was reported.",
                "Profit",
            ),
            MenuEntry("Sets", "sets", "package", 40, "What is packed, and for whom."),
            MenuEntry("Sales", "sales", "tag", 50, "What was sold.", "Sales"),
            MenuEntry(
                "At shops", "consignments", "store", 60, "What shops have of yours.", "Sales"
            ),
            MenuEntry(
                "Where you sell", "channels", "wallet", 70, "Fees of each way to sell.", "Sales"
            ),
        ),
        place=80,
        question="Did I earn anything?",
    ),
    Group(
        SETTINGS,
        "sliders-horizontal",
        (
            MenuEntry(
                "Working days", "working-days", "clock", 20, "When you work, for the schedule."
            ),
        ),
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
