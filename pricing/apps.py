from django.apps import AppConfig


class PricingConfig(AppConfig):
    name = "pricing"

    def ready(self):
        from inventory import alerts as stock_alerts
        from inventory import books as stock_books
        from inventory.possible import sources
        from pricing import books, reversals
        from pricing.acceptance import possible_uses
        from pricing.alerts import price_alerts
        from pricing.defaults import prepare_studio
        from pricing.exports import sweep_imports
        from pricing.late import late_alerts
        from pricing.quoting import expire_all_quotes
        from studio.forgetting import daily
        from studio.people import on_open

        reversals.connect()
        for hooks, ours in (
            (on_open, [prepare_studio]),
            (daily, [expire_all_quotes, sweep_imports]),
            (stock_books.checks, books.CHECKS),
            (sources, [possible_uses]),
            (stock_alerts.sources, [price_alerts]),
            (stock_alerts.work_sources, [late_alerts]),
        ):
            hooks.extend(one for one in ours if one not in hooks)
