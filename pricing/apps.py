from typing import TypeVar

from django.apps import AppConfig

Hook = TypeVar("Hook")


class PricingConfig(AppConfig):
    name = "pricing"

    def ready(self) -> None:
        from inventory.buying import alerts as stock_alerts
        from inventory.buying.possible import sources
        from inventory.stock import books as stock_books
        from inventory.stock.ledger.reversing import followers
        from pricing import books
        from pricing.alerts import KINDS, price_alerts
        from pricing.calendar.late import late_alerts
        from pricing.costing.defaults import prepare_studio
        from pricing.exports import sweep_imports
        from pricing.nav import GROUPS
        from pricing.quoting.acceptance import possible_uses
        from pricing.quoting.quotes import expire_all_quotes
        from pricing.selling.reversals import follow
        from studio.forgetting import daily
        from studio.nav import offer
        from studio.people import on_open

        offer(*GROUPS)
        stock_alerts.KINDS.update(KINDS)
        _hang(on_open, prepare_studio)
        _hang(daily, expire_all_quotes, sweep_imports)
        _hang(stock_books.checks, *books.CHECKS)
        _hang(sources, possible_uses)
        _hang(followers, follow)
        _hang(stock_alerts.sources, price_alerts)
        _hang(stock_alerts.work_sources, late_alerts)


def _hang(hooks: list[Hook], *ours: Hook) -> None:
    """Add to the hooks of an app below what is not on them yet."""
    hooks.extend(one for one in ours if one not in hooks)
