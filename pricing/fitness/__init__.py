"""What pieces are fit for: cups, food nearby, or looking at; and what is said of them. Pure.

Every paper and page that goes with a piece takes its words of heat and food from here, and every
act that may send an unfit piece on its way its doubts. What is not known is the strictest.
"""

from pricing.fitness.doubts import Doubt, doubts
from pricing.fitness.uses import COASTER_MM, FOOD, HOT, LOOK, counts_as, purpose
from pricing.fitness.words import (
    CLEANING,
    HOT_CUP_C,
    NO_FOOD,
    OF_USE,
    Finish,
    heat_in_short,
    heat_words,
    takes_hot_cups,
    told_of_each,
    words_of,
)

__all__ = [
    "CLEANING",
    "COASTER_MM",
    "FOOD",
    "HOT",
    "HOT_CUP_C",
    "LOOK",
    "NO_FOOD",
    "OF_USE",
    "Doubt",
    "Finish",
    "counts_as",
    "doubts",
    "heat_in_short",
    "heat_words",
    "purpose",
    "takes_hot_cups",
    "told_of_each",
    "words_of",
]
