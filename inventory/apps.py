from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"

    def ready(self):
        """Let parts hear of what happens elsewhere, and add to what proves the books."""
        from inventory import books, calendar, costing_changes, counts  # noqa: F401  (some listen)
        from inventory.purchasing import deliveries  # noqa: F401  (imported to listen)

        for one in (calendar.days_agree, *counts.CHECKS):
            if one not in books.checks:
                books.checks.append(one)
