"""The estimator: what a studio asks, answered from what was seen."""

from collections.abc import Sequence

from pricing.estimating.coverage.forecast import Forecast
from pricing.estimating.coverage.kernel import Settings
from pricing.estimating.coverage.layer import Cell, Influence, Layer
from pricing.estimating.coverage.observations import (
    LAYERS_OF,
    TECHNIQUES,
    CoverageError,
    Observation,
    size_of,
    whole,
)


class Estimator:
    """Forecasts from common practice and a studio's own pours.

    Parameters
    ----------
    observations : sequence of Observation
        What was seen; at least one for every layer, [-]
    settings : Settings
        Standard deviations and length of the model, [-]

    ``ln h = level(technique) + f(size) + g(technique, size) + hand + noise``, each term Gaussian,
    f common to all techniques, the hand common to all the studio's own pours and absent from common
    practice. One factorisation a layer, made when the layer is first asked for.

    References
    ----------
    C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning" (2006),
    alg. 2.1.
    """

    def __init__(
        self, observations: Sequence[Observation], settings: Settings | None = None
    ) -> None:
        self.settings = settings or Settings()
        self.observations = tuple(observations)
        self._layers: dict[str, Layer] = {}

    def forecast(
        self, technique: str, layer: str, wetted_area_mm2: float, count: int = 1
    ) -> Forecast:
        """Return the forecast of one layer.

        Parameters
        ----------
        technique, layer : str
            One of `TECHNIQUES` and one of its layers, [-]
        wetted_area_mm2 : float
            Face and painted sides of one piece, [mm2]
        count : int
            Equal pieces poured in one session, [-]

        Returns
        -------
        forecast : Forecast
            The volume over all pieces, [mL]

        Raises
        ------
        CoverageError
            If there is no such technique or layer, or the area or count cannot be.
        """
        return self.forecast_many([(technique, layer, wetted_area_mm2, count)])[0]

    def forecasts(
        self, technique: str, wetted_area_mm2: float, count: int = 1
    ) -> dict[str, Forecast]:
        """Return the forecast of every layer of a technique, in the order they are poured.

        Parameters
        ----------
        technique : str
            One of `TECHNIQUES`, [-]
        wetted_area_mm2 : float
            Face and painted sides of one piece, [mm2]
        count : int
            Equal pieces poured in one session, [-]

        Returns
        -------
        forecasts : dict of str to Forecast
            By layer, [mL]

        Raises
        ------
        CoverageError
            If there is no such technique, or the area or count cannot be.
        """
        layers = _layers_of(technique)
        cells = [(technique, layer, wetted_area_mm2, count) for layer in layers]
        return dict(zip(layers, self.forecast_many(cells), strict=True))

    def forecast_many(self, cells: Sequence[Cell]) -> list[Forecast]:
        """Return a forecast for each of many cells, with one factorisation a layer.

        Parameters
        ----------
        cells : sequence of (str, str, float, int)
            Technique, layer, wetted area of one piece [mm2], and count, [-]

        Returns
        -------
        forecasts : list of Forecast
            In the order of the cells, [mL]

        Raises
        ------
        CoverageError
            If a technique, layer, area or count cannot be.
        """
        by_layer: dict[str, list[int]] = {}
        for place, (technique, layer, _, count) in enumerate(cells):
            _refuse_other_layers(technique, layer)
            whole(count)
            by_layer.setdefault(layer, []).append(place)
        found: dict[int, Forecast] = {}
        for layer, places in by_layer.items():
            made = self._layer(layer).forecast([cells[place] for place in places])
            found.update(zip(places, made, strict=True))
        return [found[place] for place in range(len(cells))]

    def why(
        self, technique: str, layer: str, wetted_area_mm2: float, top: int = 5
    ) -> list[Influence]:
        """Return the observations that weighed most in a forecast, the heaviest first.

        Parameters
        ----------
        technique, layer : str
            What was asked, [-]
        wetted_area_mm2 : float
            Face and painted sides of one piece, [mm2]
        top : int
            How many to return, [-]

        Returns
        -------
        influences : list of Influence
            At most ``top``, [-]

        Raises
        ------
        CoverageError
            If there is no such technique or layer, or the area cannot be.
        """
        _refuse_other_layers(technique, layer)
        return self._layer(layer).why(technique, size_of(wetted_area_mm2), top)

    def measured_range(self, technique: str, layer: str) -> tuple[float, float]:
        """Return the sizes between which a technique's layer has been measured.

        Parameters
        ----------
        technique, layer : str
            What is poured, [-]

        Returns
        -------
        smallest, largest : float
            Radii of the discs of the same wetted area, [mm]

        Raises
        ------
        CoverageError
            If nothing is known of it.
        """
        _refuse_other_layers(technique, layer)
        return self._layer(layer).measured_range(technique)

    def _layer(self, layer: str) -> Layer:
        if layer not in self._layers:
            seen = [one for one in self.observations if one.layer == layer]
            self._layers[layer] = Layer(layer, seen, self.settings)
        return self._layers[layer]


def _layers_of(technique: str) -> tuple[str, ...]:
    if technique not in LAYERS_OF:
        raise CoverageError(
            f"“{technique}” is not a technique. Choose {', '.join(TECHNIQUES[:-1])} or "
            f"{TECHNIQUES[-1]}."
        )
    return LAYERS_OF[technique]


def _refuse_other_layers(technique: str, layer: str) -> None:
    if layer not in _layers_of(technique):
        raise CoverageError(f"A {technique} has no layer “{layer}”.")
