"""What is kept of a studio's pours: a state of those long ago, and what the last ones taught."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from hashlib import sha256
from io import BytesIO
from itertools import islice

import numpy as np

from pricing.estimating.coverage.fitting import PRIOR_SD, Learnt, learn, settings_at
from pricing.estimating.coverage.kernel import Floats, Settings, Truths
from pricing.estimating.coverage.observations import KINDS, LAYERS, Observation, common_practice
from pricing.estimating.coverage.seen import Seen
from pricing.estimating.coverage.state import LARGEST, NOTHING, SMALLEST, USUAL, State

# The last so many pours say how the studio pours now; what is older enters the state, at most so
# many pours at a time, with what was known of luck and slips when it was among the last.
WINDOW, STEP = 200, 100
# Changes with what a kept memory is made of.
FORMAT = 1

Pour = Sequence[Observation]
Key = int | str | None


@dataclass(frozen=True)
class Memory:
    """What is known without looking at all pours again.

    Parameters
    ----------
    state : State
        What pours before the last ones taught, [-]
    away : ndarray
        How far the fitted settings are from the middle of their priors, [-]
    slips : mapping of (key, layer) to (float, float)
        For each value of the last pours, the chance that it is a slip and what its variance is
        raised by for that, [-]
    through : int, str or None
        Key of the last pour that entered the state, [-]
    digest : str
        A fingerprint of what entered, [-]
    """

    state: State = NOTHING
    away: Floats = field(default_factory=lambda: np.zeros(len(PRIOR_SD)))
    slips: Mapping[tuple[Key, str], tuple[float, float]] = field(default_factory=dict)
    through: Key = None
    digest: str = ""

    @property
    def settings(self) -> Settings:
        """What the model rests on."""
        return settings_at(USUAL, self.away)

    def known(self, seen: Sequence[Observation]) -> tuple[Learnt, Truths]:
        """Return what is known of values, and which are own pours of which nothing is."""
        found = [self.slips.get((one.key, one.layer)) if one.own else (0.0, 0.0) for one in seen]
        honest = [one.sure or two is None for one, two in zip(seen, found, strict=True)]
        both = np.array([two or (0.0, 0.0) for two in found]).reshape(-1, 2)
        chances, raised = np.where(np.array(honest)[:, None], 0.0, both).T
        new = np.array([two is None for two in found], dtype=bool)
        return Learnt(self.settings, chances, raised, self.away), new


def caught_up(memory: Memory, pours: Iterable[Pour]) -> Memory:
    """Return what is known once the pours after a memory's state are learnt from.

    Parameters
    ----------
    memory : Memory
        Of the pours before, and of the last ones when it was made, [-]
    pours : iterable of sequences of Observation
        All that come after its state, each by its layers, oldest first, [-]

    Returns
    -------
    memory : Memory
        Fitted to the last `WINDOW` pours, those before in the state, [-]
    """
    pours = iter(pours)
    window = list(islice(pours, WINDOW))
    while more := list(islice(pours, STEP)):
        memory = _entered(memory, window, len(more))
        window = window[len(more) :] + more
    return _fitted(memory, window)


def _entered(memory: Memory, window: Sequence[Pour], count: int) -> Memory:
    """Return a memory into whose state the first pours of a window have entered."""
    if memory.known([one for pour in window for one in pour])[1].any():
        memory = _fitted(memory, window)
    entering = [one for pour in window[:count] for one in pour]
    seen = Seen([*common_practice(), *entering], memory.state)
    learnt, _ = memory.known(entering)
    own = seen.places.own > 0
    return replace(
        memory,
        state=memory.state.after(
            seen.places[own], seen.values[own], learnt.settings, learnt.chances, learnt.raised
        ),
        through=entering[-1].key,
        digest=digest_of(window[:count], memory.digest),
    )


def _fitted(memory: Memory, window: Sequence[Pour]) -> Memory:
    """Return a memory whose settings and slips are those of a window."""
    seen = Seen([*common_practice(), *(one for pour in window for one in pour)], memory.state)
    learnt = learn(seen.places, seen.values, USUAL, memory.state)
    slips = {
        (one.key, one.layer): (float(chance), float(raised))
        for one, chance, raised in zip(
            seen.observations, learnt.chances, learnt.raised, strict=True
        )
        if one.own
    }
    return replace(memory, away=learnt.away, slips=slips)


def digest_of(pours: Iterable[Pour], before: str = "") -> str:
    """Return a fingerprint of what is learnt from pours in their order.

    Parameters
    ----------
    pours : iterable of sequences of Observation
        Each by its layers, [-]
    before : str
        That of the pours before them, [-]

    Returns
    -------
    digest : str
        64 letters, [-]
    """
    for pour in pours:
        layers = [replace(one, label="") for one in pour]
        before = sha256(f"{before}{layers}".encode()).hexdigest()
    return before


@cache
def model() -> str:
    """Return a fingerprint of what a packed memory means: it is good for the same model only."""
    means = [round(float(mean), 9) for mean in Seen(common_practice()).means]
    parts = (FORMAT, USUAL, SMALLEST, LARGEST, KINDS, LAYERS, list(PRIOR_SD), means)
    return sha256(repr(parts).encode()).hexdigest()


def packed(memory: Memory) -> bytes:
    """Return a memory as it is kept.

    Parameters
    ----------
    memory : Memory
        Keys of its pours are whole numbers, [-]

    Returns
    -------
    kept : bytes
        Some 130 kB, however many pours it is of, [-]
    """
    state, file = memory.state, BytesIO()
    slips = [(key, LAYERS.index(layer), *two) for (key, layer), two in memory.slips.items()]
    np.savez(
        file,
        mean=state.mean,
        covariance=state.covariance[np.tril_indices(state.mean.size)],
        sums=np.array([state.distance, state.honest, state.pours]),
        poured=state.poured,
        ranges=state.ranges,
        away=memory.away,
        slips=np.array(slips, dtype=float).reshape(-1, 4),
        through=np.array(int(memory.through or 0)),
        digest=np.array(memory.digest),
    )
    return file.getvalue()


def unpacked(kept: bytes) -> Memory:
    """Return a memory that was kept.

    Parameters
    ----------
    kept : bytes
        From `packed`, by the same `model`, [-]

    Returns
    -------
    memory : Memory
        The same, [-]
    """
    with np.load(BytesIO(kept), allow_pickle=False) as all_of_it:
        parts = {name: all_of_it[name] for name in all_of_it.files}
    size = parts["mean"].size
    covariance = np.zeros((size, size))
    covariance[np.tril_indices(size)] = parts["covariance"]
    covariance += np.tril(covariance, -1).T
    distance, honest, pours = parts["sums"]
    return Memory(
        state=State(
            mean=parts["mean"],
            covariance=covariance,
            distance=float(distance),
            honest=float(honest),
            pours=int(pours),
            poured=parts["poured"],
            ranges=parts["ranges"],
        ),
        away=parts["away"],
        slips={
            (int(key), LAYERS[int(layer)]): (float(chance), float(raised))
            for key, layer, chance, raised in parts["slips"]
        },
        through=int(parts["through"]) or None,
        digest=str(parts["digest"]),
    )
