from typing import TypeVar

from django.apps import AppConfig

Hook = TypeVar("Hook")


def _add(hooks: list[Hook], *ours: Hook) -> None:
    hooks.extend(hook for hook in ours if hook not in hooks)


class InventoryConfig(AppConfig):
    name = "inventory"

    def ready(self) -> None:
        """Offer pages, and add to what proves the books and to what follows an undone entry."""
        from inventory.buying import alert_mail, calendar
        from inventory.buying.purchasing.deliveries import take_back
        from inventory.buying.replacing import renew, renew_all
        from inventory.found import SOURCES
        from inventory.nav import GROUPS, MAKERS
        from inventory.stock import balances, books, counts
        from inventory.stock.counts.lines import wait_again
        from inventory.stock.imports.later import FILE_WORK
        from inventory.stock.imports.own.later import KIND, SHEET_WORK
        from inventory.stock.ledger.reversing import followers
        from inventory.terms import TERMS
        from studio.background import works
        from studio.forgetting import daily
        from studio.jobs import Name, at_start, each_minute, names
        from studio.making import makers
        from studio.nav import offer
        from studio.searching import sources
        from studio.terms import terms

        offer(*GROUPS)
        terms.update(TERMS)
        makers.update(MAKERS)
        _add(sources, *SOURCES)
        _add(books.checks, calendar.days_agree, balances.month_ends_agree, *counts.CHECKS)
        _add(followers, wait_again, take_back)
        _add(daily, renew_all)
        _add(at_start, renew_all)
        _add(each_minute, alert_mail.put_in_line_if_due)
        names[renew.module_path] = Name("what materials cost to replace")
        names[alert_mail.write_morning_news.module_path] = Name("the mail of the morning")
        works["import"], works[KIND] = FILE_WORK, SHEET_WORK
