from django.apps import AppConfig


class PricingConfig(AppConfig):
    name = "pricing"

    def ready(self):
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
        for hooks, ours in (
            (on_open, [prepare_studio]),
            (daily, [expire_all_quotes, sweep_imports]),
            (stock_books.checks, books.CHECKS),
            (sources, [possible_uses]),
            (followers, [follow]),
            (stock_alerts.sources, [price_alerts]),
            (stock_alerts.work_sources, [late_alerts]),
        ):
            hooks.extend(one for one in ours if one not in hooks)
