from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"

    def ready(self):
        """Offer pages, and add to what proves the books and to what follows an undone entry."""
        from inventory.buying import calendar
        from inventory.buying.purchasing.deliveries import take_back
        from inventory.nav import GROUPS
        from inventory.stock import books, counts
        from inventory.stock.counts.lines import wait_again
        from inventory.stock.ledger.reversing import followers
        from studio.nav import offer

        offer(*GROUPS)
        for hooks, ours in (
            (books.checks, [calendar.days_agree, *counts.CHECKS]),
            (followers, [wait_again, take_back]),
        ):
            hooks.extend(one for one in ours if one not in hooks)
