from typing import TypeVar

from django.apps import AppConfig

Hook = TypeVar("Hook")


class PricingConfig(AppConfig):
    name = "pricing"

    def ready(self) -> None:
        from inventory.buying import alerts as stock_alerts
        from inventory.buying.possible import sources
        from inventory.stock import books as stock_books
        from inventory.stock.ledger.reversing import followers, lockers
        from pricing import books
        from pricing.alerts import KINDS, price_alerts
        from pricing.bench.views.again import then_beside
        from pricing.bench.work.judgings import judging_alerts
        from pricing.calendar.late import late_alerts
        from pricing.calendar.soonest import planned_day
        from pricing.costing.defaults import prepare_studio
        from pricing.demo.published import published_passwords
        from pricing.earnings.own_prices import planned_price_beside
        from pricing.estimating.remembering import learn, learn_all
        from pricing.estimating.views import planner
        from pricing.exports import ARCHIVE_WORK, sweep_imports
        from pricing.found import SOURCES
        from pricing.nav import GROUPS, MAKERS
        from pricing.quoting.acceptance import possible_uses
        from pricing.quoting.quotes import expire_all_quotes
        from pricing.selling.reversals import follow, lock
        from pricing.terms import TERMS
        from studio import searching
        from studio.background import works
        from studio.forgetting import daily
        from studio.jobs import Name, at_start, names
        from studio.making import makers
        from studio.nav import offer
        from studio.people import on_open
        from studio.set_up import checks
        from studio.terms import terms
        from studio.views.account import opened_at

        offer(*GROUPS)
        terms.update(TERMS)
        makers.update(MAKERS)
        # What is asked for most stands first.
        searching.sources[:0] = [one for one in SOURCES if one not in searching.sources]
        stock_alerts.KINDS.update(KINDS)
        _hang(on_open, prepare_studio)
        _hang(opened_at, "starting")
        _hang(checks, published_passwords)
        _hang(planner.extras, planned_price_beside, planned_day, then_beside)
        _hang(daily, expire_all_quotes, sweep_imports)
        _hang(at_start, learn_all)
        names[learn.module_path] = Name("what your pours teach the estimates")
        works["archive"] = ARCHIVE_WORK
        _hang(stock_books.checks, *books.CHECKS)
        _hang(sources, possible_uses)
        _hang(lockers, lock)
        _hang(followers, follow)
        _hang(stock_alerts.sources, price_alerts)
        _hang(stock_alerts.work_sources, late_alerts, judging_alerts)


def _hang(hooks: list[Hook], *ours: Hook) -> None:
    """Add to the hooks of an app below what is not on them yet."""
    hooks.extend(one for one in ours if one not in hooks)
