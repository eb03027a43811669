"""What goes with pours that came out well: questions fixed beforehand, counts, sceptical estimates.

`questions` are what is asked of each pour, and into which bands its answers fall. `reading` counts
the good pieces of each band and estimates how much two bands differ, shrunk for how much was
asked. `pairs` is the test with two tiles from the same cups: its evidence, and when it may be told.
"""

from pricing.bench.differences.pairs import (
    Score,
    chance_told,
    evidence,
    is_told,
    needed,
    odds,
    stake,
)
from pricing.bench.differences.questions import QUESTIONS, Question, Seen
from pricing.bench.differences.reading import RATINGS, Answer, Estimate, Side, answers, estimate

__all__ = [
    "QUESTIONS",
    "RATINGS",
    "Answer",
    "Estimate",
    "Question",
    "Score",
    "Seen",
    "Side",
    "answers",
    "chance_told",
    "estimate",
    "evidence",
    "is_told",
    "needed",
    "odds",
    "stake",
]
