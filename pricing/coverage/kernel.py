"""How alike two pieces are: the covariance of ln(wet thickness)."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Settings:
    """Standard deviations of ln(thickness), and how far in ln(radius) a size is felt.

    Parameters
    ----------
    level_sd : float
        Of a technique's own level around the layer's mean, [-]
    shared_sd, own_sd : float
        Of what size does: in all techniques alike, and in one technique, [-]
    length : float
        Distance in ln(radius) over which they change; 0.8 is a piece 2.2 times as wide, [-]
    hand_sd, knack_sd : float
        Of a studio's hand: in all techniques alike, and in one technique, [-]
    session_sd, piece_sd : float
        Of a session around the studio's mean, and of one piece around the session's, [-]
    """

    level_sd: float = 0.40
    shared_sd: float = 0.30
    own_sd: float = 0.60
    length: float = 0.8
    hand_sd: float = 0.30
    knack_sd: float = 0.15
    session_sd: float = 0.12
    piece_sd: float = 0.12

    def session_variance(self, count):
        """Return the variance of ln(mean volume) of a session around the studio's mean.

        Parameters
        ----------
        count : int or array
            Pieces in the session, [-]

        Returns
        -------
        variance : float or array
            The session's own, and the mean of the pieces' (Fenton and Wilkinson), [-]
        """
        return self.session_sd**2 + np.log1p(np.expm1(self.piece_sd**2) / count)


@dataclass(frozen=True)
class Cells:
    """Places in the model, as arrays of one length: sizes, technique numbers, whether own."""

    sizes: np.ndarray
    techniques: np.ndarray
    own: np.ndarray


def covariance(a, b, settings):
    """Return the prior covariance of ln(thickness) between two lots of places.

    Parameters
    ----------
    a, b : Cells
        n and m places, [-]
    settings : Settings
        The standard deviations and the length, [-]

    Returns
    -------
    covariance : ndarray
        n by m, [-]
    """
    alike = a.techniques[:, None] == b.techniques[None, :]
    both_own = a.own[:, None] & b.own[None, :]
    distance = (a.sizes[:, None] - b.sizes[None, :]) / settings.length
    nearness = np.exp(-0.5 * distance * distance)
    shape = nearness * (settings.shared_sd**2 + alike * settings.own_sd**2)
    hand = both_own * (settings.hand_sd**2 + alike * settings.knack_sd**2)
    return shape + alike * settings.level_sd**2 + hand


def prior_variance(cells, settings):
    """Return the prior variance of ln(thickness) at each place.

    Parameters
    ----------
    cells : Cells
        n places, [-]
    settings : Settings
        The standard deviations, [-]

    Returns
    -------
    variance : ndarray
        n values, [-]
    """
    shape = settings.shared_sd**2 + settings.own_sd**2 + settings.level_sd**2
    return shape + cells.own * (settings.hand_sd**2 + settings.knack_sd**2)
