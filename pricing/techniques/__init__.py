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

__all__ = ["BASES", "COAT_SUCCESS", "TECHNIQUES", "TechniqueFacts", "facts_of"]
