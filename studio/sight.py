"""Who may see what: the one table that pages, the API, files, mails and menus ask.

A page, an operation, a list or a file that is wholly of a kind names it, and is refused to those
who do not see it. Where only a field or a column is of a kind, it is left out: of pages by
``sees`` in the template, of the API by `studio.api.rows.Sighted`, of forms by `form_page`, of lists
by `studio.tables.ListColumn`. What somebody does not see, they do not write either.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol


class Sight(StrEnum):
    """A kind of knowledge that not every member has."""

    COSTS = "costs"
    PROFIT = "profit"
    PRICES = "prices"
    ADDRESSES = "addresses"


COSTS, PROFIT, PRICES, ADDRESSES = Sight
OWNER, MAKER = "owner", "maker"


class Member(Protocol):
    """Whoever belongs to a studio, with what an owner says of them."""

    role: str
    sees_costs: bool


@dataclass(frozen=True)
class Rule:
    """What a kind of knowledge is, in words, and whether a maker needs an owner's trust for it.

    Owners see everything, and viewers nothing of what stands in the table.
    """

    what: str
    needs_trust: bool

    @property
    def who(self) -> str:
        """Who sees it, as the subject of a sentence."""
        return (
            "owners, and makers whom an owner trusts" if self.needs_trust else "owners and makers"
        )


TABLE: Mapping[Sight, Rule] = {
    COSTS: Rule("what materials, stock, work and pieces cost", needs_trust=True),
    PROFIT: Rule("margins, markups and profit", needs_trust=True),
    # Makers answer for quotes, sell and take payments, so they know what is asked for and paid.
    PRICES: Rule("what customers are asked for, owe and pay, and what a channel keeps", False),
    # The customer's name is not of this kind: whoever makes a piece knows whom it is for.
    ADDRESSES: Rule("customers' addresses, e-mail, telephone and notes", needs_trust=True),
}


def sees(member: Member, sight: Sight) -> bool:
    """Tell whether a member sees what is of this kind."""
    if member.role == OWNER:
        return True
    return member.role == MAKER and (member.sees_costs or not TABLE[sight].needs_trust)


def seen_by(member: Member | None) -> dict[str, bool]:
    """Return {kind: whether it is seen} of all kinds, as templates ask for it."""
    return {sight.value: member is not None and sees(member, sight) for sight in Sight}


EVERYTHING: Mapping[str, bool] = {sight.value: True for sight in Sight}


def refusal(sight: Sight) -> str:
    """Return the sentence that says why something is not shown, and who can change it."""
    rule = TABLE[sight]
    change = "trust a maker with it" if rule.needs_trust else "make somebody a maker"
    return f"This tells {rule.what}. It is for {rule.who}. An owner can {change}, under People."


def in_words() -> list[tuple[str, str]]:
    """Return the table as rows of text: what it is, and who sees it."""
    return [(rule.what, rule.who) for rule in TABLE.values()]
