"""How alike two pours are: the covariance of ln(wet thickness), term by term."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int_]
Truths = NDArray[np.bool_]

# How alike the layers of a technique are: in what size does to them, in the hand, and in the knack.
SHAPE_ALIKE, HAND_ALIKE, KNACK_ALIKE = 0.7, 0.8, 0.3
# Sides hold a film of their own: ln(thickness) for each unit of their share of the painted area.
SIDE_SLOPE = -0.25
# ln(radius in mm) around which a film leans, 10 cm, between a tile and a small canvas; and how far
# from there it levels off, beyond what is sold.
MIDDLE, REACH = 4.6, 2.5


@dataclass(frozen=True)
class Settings:
    """Standard deviations of ln(thickness), and how far a size and a pour are felt.

    Parameters
    ----------
    level_sd : float
        Of a technique's layer around the layer's mean, [-]
    shared_sd, curve_sd : float
        Of what size does: to all techniques alike, and to one technique, [-]
    own_sd : float
        Of what size does in the studio beside that, [-]
    length : float
        Distance in ln(radius) over which they change, [-]
    lean_sd : float
        Of how a technique's film grows all along, for each unit of ln(radius): what is poured in
        small sizes says something of large ones beyond the length, [-]
    side_sd : float
        Of what a share of sides of 1 does, [-]
    hand_sd, knack_sd : float
        Of a studio's hand: in all techniques alike, and in one technique, [-]
    fade_sd : float
        Of the part of the hand that changes over time; fitted, [-]
    memory : float
        Pours over which that part is forgotten, [-]
    session_sd, piece_sd : float
        Of the luck of a pour, and of each piece in it; fitted, [-]
    alike : float
        How alike the luck of two layers of a pour is, from 0 to 1; fitted, [-]
    rule_sd : float
        Of the error that all sizes of one rule of common practice share, [-]
    """

    # Levels: base coats run from 0.5 mm (flip cup) to 5 mm (bloom). Common practice has no source:
    # a rule's error of 0.33 and each fact's own of 0.1 and more are 35 % and more together. The
    # rest is tuned on simulated studios, tests/benchmarks/studios.py.
    level_sd: float = 1.0
    shared_sd: float = 0.30
    curve_sd: float = 0.50
    own_sd: float = 0.20
    length: float = 1.4
    lean_sd: float = 0.30
    side_sd: float = 0.20
    hand_sd: float = 0.27
    knack_sd: float = 0.15
    fade_sd: float = 0.10
    memory: float = 50.0
    session_sd: float = 0.16
    piece_sd: float = 0.16
    alike: float = 0.5
    rule_sd: float = 0.33


@dataclass(frozen=True)
class Places:
    """Where something was or will be poured, as arrays of one length.

    Parameters
    ----------
    sizes : ndarray
        ln of the radius of the disc of the same wetted area in mm, [-]
    sides : ndarray
        Painted sides as a share of the wetted area, [-]
    kinds, layers : ndarray
        Numbers of the technique with its base, and of the layer, [-]
    own : ndarray
        1 for the studio's own pours, 0 for common practice, [-]
    pours : ndarray
        Number of the pour in the studio's order; common practice counts below zero, [-]
    counts : ndarray
        Pieces in the pour, [-]
    sure : ndarray
        Whether it is known to be no slip, [-]
    rules, noise : ndarray
        For common practice: the number of the rule, or -1, and the variance of its own error, [-]
    """

    sizes: Floats
    sides: Floats
    kinds: Whole
    layers: Whole
    own: Floats
    pours: Whole
    counts: Floats
    sure: Truths
    rules: Whole
    noise: Floats

    def __getitem__(self, which: Whole | Truths | slice) -> "Places":
        return Places(**{name: array[which] for name, array in vars(self).items()})


def alike(same: Truths, share: float) -> Floats:
    """Return 1 where two layers are the same, and a share elsewhere.

    Parameters
    ----------
    same : ndarray
        Whether they are, [-]
    share : float
        How alike two layers are, [-]

    Returns
    -------
    mix : ndarray
        ``share + (1 - share) · same``, [-]
    """
    mix: Floats = share + (1 - share) * same.astype(np.float64)
    return mix


def _leaning(places: Places) -> Floats:
    leaning: Floats = np.clip(places.sizes - MIDDLE, -REACH, REACH)
    return leaning


class Pairs:
    """Two lots of places beside each other; what is not fitted is worked out once.

    Parameters
    ----------
    a, b : Places
        n and m places, [-]
    settings : Settings
        What is not fitted is taken from here, [-]
    """

    def __init__(self, a: Places, b: Places, settings: Settings) -> None:
        same_layer = a.layers[:, None] == b.layers
        same_kind = a.kinds[:, None] == b.kinds
        own = np.outer(a.own, b.own)
        apart: Floats = a.sizes[:, None] - b.sizes
        between = np.abs(a.pours[:, None] - b.pours)
        near = np.exp(apart * apart * (-0.5 / settings.length**2))
        shape = alike(same_layer, SHAPE_ALIKE)
        lean = settings.lean_sd**2 * np.outer(_leaning(a), _leaning(b))
        curves = settings.curve_sd**2 + settings.own_sd**2 * own
        hand = alike(same_layer, HAND_ALIKE) * own
        self.fading = hand * np.exp(-between / settings.memory)
        self.steady: Floats = (
            shape * (near * settings.shared_sd**2 + same_kind * (near * curves + lean))
            + settings.level_sd**2 * (same_kind & same_layer)
            + settings.side_sd**2 * np.outer(a.sides, b.sides)
            + settings.hand_sd**2 * hand
            + settings.knack_sd**2 * alike(same_layer, KNACK_ALIKE) * same_kind * own
        )

    def covariance(self, settings: Settings) -> Floats:
        """Return the prior covariance of ln(thickness), without luck.

        Parameters
        ----------
        settings : Settings
            The fitted values are taken from here, [-]

        Returns
        -------
        covariance : ndarray
            n by m, [-]
        """
        total: Floats = self.steady + settings.fade_sd**2 * self.fading
        return total

    def slope(self, settings: Settings) -> Floats:
        """Return how the covariance changes with ln of fade_sd.

        Parameters
        ----------
        settings : Settings
            The fitted values are taken from here, [-]

        Returns
        -------
        slope : ndarray
            n by m, [-]
        """
        change: Floats = 2 * settings.fade_sd**2 * self.fading
        return change


class Luck:
    """What is no pour's to foresee: its session's and its pieces' luck, and the error of a fact.

    Parameters
    ----------
    places : Places
        n places, [-]
    settings : Settings
        What is not fitted is taken from here, [-]
    """

    def __init__(self, places: Places, settings: Settings) -> None:
        own = places.own > 0
        self.same_pour = (places.pours[:, None] == places.pours) & np.outer(own, own)
        self.same_layer = places.layers[:, None] == places.layers
        self.each = 1 / places.counts
        known_rule = np.outer(places.rules >= 0, places.rules >= 0)
        same_rule = (places.rules[:, None] == places.rules) & known_rule
        self.of_facts: Floats = settings.rule_sd**2 * same_rule + np.diag(places.noise)

    def covariance(self, settings: Settings) -> Floats:
        """Return the covariance of the luck.

        Parameters
        ----------
        settings : Settings
            The fitted values are taken from here, [-]

        Returns
        -------
        covariance : ndarray
            n by n, [-]
        """
        variance = settings.session_sd**2 + settings.piece_sd**2 * self.each
        total: Floats = self.of_facts + self._shared(settings) * variance
        return total

    def slopes(self, settings: Settings) -> tuple[Floats, Floats, Floats]:
        """Return how it changes with ln of session_sd, ln of piece_sd, and the logit of alike.

        Parameters
        ----------
        settings : Settings
            The fitted values are taken from here, [-]

        Returns
        -------
        slopes : tuple of three ndarrays
            Each n by n, [-]
        """
        shared = self._shared(settings)
        session, piece = settings.session_sd**2, settings.piece_sd**2 * self.each
        of_logit = settings.alike * (1 - settings.alike)
        others = self.same_pour & ~self.same_layer
        return 2 * session * shared, 2 * piece * shared, of_logit * others * (session + piece)

    def _shared(self, settings: Settings) -> Floats:
        shared: Floats = self.same_pour * alike(self.same_layer, settings.alike)
        return shared
