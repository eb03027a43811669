from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"

    def ready(self):
        """Let parts hear of what happens elsewhere, and add to what proves the books."""
        from inventory.buying import calendar
        from inventory.buying.purchasing import deliveries  # noqa: F401  (imported to listen)
        from inventory.stock import books, costing_changes, counts  # noqa: F401  (some listen)

        for one in (calendar.days_agree, *counts.CHECKS):
            if one not in books.checks:
                books.checks.append(one)
