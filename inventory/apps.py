from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"

    def ready(self):
        """Let parts hear of what happens elsewhere, and add to what proves the books."""
        from inventory import books, calendar, costing_changes  # noqa: F401  (imported to listen)
        from inventory.purchasing import deliveries  # noqa: F401  (imported to listen)

        if calendar.days_agree not in books.checks:
            books.checks.append(calendar.days_agree)
