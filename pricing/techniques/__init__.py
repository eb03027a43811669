"""The techniques there are, and what is known of each before a studio has poured.

A new technique is a row in `common_practice` here and its amounts of paint in
`pricing/estimating/data/common_practice.csv`; nothing else names one.
"""

from pricing.techniques.common_practice import (
    BASES,
    COAT_SUCCESS,
    TECHNIQUES,
    TechniqueFacts,
    facts_of,
)
from pricing.techniques.resin_guesses import GUESSES, NOT_CHECKED, ONCE_FILLED_IN, OUR_GUESS

__all__ = [
    "BASES",
    "COAT_SUCCESS",
    "GUESSES",
    "NOT_CHECKED",
    "ONCE_FILLED_IN",
    "OUR_GUESS",
    "TECHNIQUES",
    "TechniqueFacts",
    "facts_of",
]
