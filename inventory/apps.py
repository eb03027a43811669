from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"

    def ready(self):
        """Let deliveries hear of entries that are undone."""
        from inventory.purchasing import deliveries  # noqa: F401  (imported to listen)
