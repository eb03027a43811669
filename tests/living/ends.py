"""What must be true at the end of a story, reckoned in plain Python from files and the acts."""

from collections import defaultdict
from decimal import Decimal

from tests.living import tables


def check(story):
    """Hold the books against themselves, against the files, and against what people did."""
    story.command("check_books")
    _bottles_are_what_the_ledger_says(story)
    _payments_are_what_was_paid(story)


def _file(story, name):
    return tables.read_csv(story.owner.open(f"/in-and-out/{name}.csv").response.body)


def _bottles_are_what_the_ledger_says(story):
    """Add the ledger's file up by hand: each bottle's amount and worth, and what was paid."""
    amounts, worths, entries = (defaultdict(Decimal) for _ in range(3))
    for row in _file(story, "ledger"):
        amounts[row["Bottle"]] += Decimal(row["Quantity"])
        worths[row["Bottle"]] += Decimal(row["Value"])
        entries[int(row["Entry"])] += Decimal(row["Value"])
    for row in _file(story, "bottles"):
        told = Decimal(row["Left"]), Decimal(row["Worth"])
        reckoned = amounts[row["Bottle"]], worths[row["Bottle"]]
        if told != reckoned:
            story.judge.find(f"bottle {row['Bottle']} is told as {told}; its moves make {reckoned}")
        if told[0] < 0 or (not told[0] and told[1]):
            story.judge.find(f"bottle {row['Bottle']} holds {told[0]}, worth {told[1]}")
    for entry, cost in story.ledger.bought.items():
        if entries[entry] != cost:
            story.judge.find(f"entry {entry} is worth {entries[entry]}; {cost} was paid for it")


def _payments_are_what_was_paid(story):
    for number in sorted(set(story.ledger.paid) - story.ledger.unsure):
        told = story.api.get(f"commissions/{number}/account/").json()
        if Decimal(told["paid"]) != story.ledger.paid[number]:
            story.judge.find(
                f"commission {number}: {story.ledger.paid[number]} was paid by the acts, "
                f"{told['paid']} by its account"
            )
