"""What planning, commissions, the bench, selling and profit offer in the menu."""

from studio.nav import SETTINGS, Entry, Group

GROUPS = (
    Group("Today", "calendar-check", (Entry("Today", "home", "calendar-check"),), 10, True),
    Group(
        "Plan",
        "ruler",
        (
            Entry("Plan", "planner", "ruler", place=10),
            Entry("What can I make", "producible", "package", place=20),
            Entry("Prices by size", "price-list", "tag", "maker", 30),
        ),
        place=20,
        is_at_hand=True,
    ),
    Group(
        "Commissions",
        "clipboard-list",
        (
            Entry("Commissions", "commissions", "clipboard-list", place=10),
            Entry("Schedule", "schedule", "calendar", place=20),
            Entry("Customers", "customers", "user", place=30),
            Entry("Owed", "owed", "tag", place=40),
        ),
        place=30,
        is_at_hand=True,
    ),
    Group(
        "Pours",
        "droplets",
        (
            Entry("Pours", "pours", "droplets", place=10),
            Entry("Work", "work", "clipboard-list", place=20),
            Entry("Mixing", "mixing", "flask-conical", place=30),
            Entry("Batches", "batches", "test-tubes", place=40),
        ),
        place=40,
    ),
    Group("Stock", "paint-bucket", (Entry("In and out", "in-and-out", "download", place=40),)),
    Group(
        "Sets & sales",
        "package",
        (
            Entry("Sets", "sets", "package", place=10),
            Entry("Sales", "sales", "tag", place=20),
            Entry("Consignment", "consignments", "store", place=30),
            Entry("Channels", "channels", "wallet", place=40),
        ),
        place=70,
    ),
    Group(
        "Profit",
        "chart-line",
        (
            Entry("Profit", "profit", "chart-line", place=10),
            Entry("Forecast and actual", "hindsight", "target", place=20),
            Entry("Break-even", "break-even", "scale", place=30),
            Entry("How good are the estimates", "record", "target", place=40),
        ),
        place=80,
    ),
    Group(
        "Recipes",
        "flask-conical",
        (
            Entry("Palettes", "palettes", "palette", place=20),
            Entry("Surfaces", "surfaces", "shapes", place=30),
            Entry("Products", "products", "tag", place=40),
            Entry("Techniques", "techniques", "blend", place=50),
            Entry("Resin kits", "resin-kits", "test-tubes", place=60),
        ),
    ),
    Group(
        SETTINGS,
        "sliders-horizontal",
        (Entry("Working days", "working-days", "clock", "owner", 20),),
    ),
)
