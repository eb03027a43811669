"""The story's own ledger: what was bought, paid and sold according to the acts, in plain Python.

It is kept from what people typed and were told, and never asks the product; `ends.check` compares.
"""

from collections import defaultdict
from decimal import Decimal


class Ledger:
    """What must be found again in the product's reports.

    Attributes
    ----------
    paid : dict
        By commission's number, what was paid less what was given back.
    unsure : set
        Commissions whose payments were not all made by acts that know the amount.
    bought : dict
        By the reference of a delivery, what was paid for it, freight in and discount off.
    """

    def __init__(self):
        self.paid = defaultdict(Decimal)
        self.unsure = set()
        self.bought = {}
