from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"

    def ready(self):
        """Let deliveries hear of entries that are undone, and costing of the day of a change."""
        from inventory import costing_changes  # noqa: F401  (imported to listen)
        from inventory.purchasing import deliveries  # noqa: F401  (imported to listen)
