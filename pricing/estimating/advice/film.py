"""Advice on the film of paint on a piece: too thick, too little, or a size never measured."""

from inventory.mixing.proportions.amounts import Number
from inventory.mixing.proportions.mediums import CRAZING_FILM_MM, Medium
from pricing.estimating.advice.finding import PAINT_MAKERS, Advice, Severity, number

KINDS: dict[Medium, str] = {
    "ordinary": "paint without a pouring medium",
    "pouring": "paint with a pouring medium",
    "anti-craze": "paint with an anti-craze medium",
}
WAY_OUT: dict[Medium, str] = {
    "ordinary": "Let more run off, or mix in as much pouring medium as paint.",
    "pouring": "Let more run off.",
    "anti-craze": "Let more run off.",
}
# A pour that sheds more than this has hardly been seen: common practice, no source.
MOST_SHED = 0.5
INSTEAD: dict[Medium, str] = {
    "ordinary": "Mix in as much pouring medium as paint, so that it may lie thicker, or pour less.",
    "pouring": "Pour less of it.",
    "anti-craze": "Pour less of it.",
}
# 0.5 mL for each square inch, the least of the published rules for pours: 500 / 645.16 mm.
LEAST_FILM_MM = 500 / 645.16


def film_mm(volume_ml: Number, area_mm2: Number) -> float:
    """Return the mean thickness of a film.

    Parameters
    ----------
    volume_ml : float or Decimal
        Volume on the surface, from 0, [mL]
    area_mm2 : float or Decimal
        Area it covers, above zero, [mm^2]

    Returns
    -------
    film_mm : float
        Thickness, [mm]

    Raises
    ------
    AdviceError
        If the volume is below zero or the area is not above zero.

    Examples
    --------
    120 mL on 1200 cm^2:

    >>> film_mm(120, 120_000)
    1.0
    """
    volume = number(volume_ml, "A volume")
    return 1000 * volume / number(area_mm2, "An area", above=True)


def face_film_mm(volume_ml: Number, face_mm2: Number, sides_mm2: Number = 0.0) -> float:
    """Return the mean thickness of the film on a face whose sides drain.

    Parameters
    ----------
    volume_ml : float or Decimal
        Volume that stays on face and sides, from 0, [mL]
    face_mm2 : float or Decimal
        Area of the face, above zero, [mm^2]
    sides_mm2 : float or Decimal
        Area of the painted sides, from 0, [mm^2]

    Returns
    -------
    film_mm : float
        Thickness on the face, [mm]; the sides are taken to keep no more than wets them, 0.775 mm

    Raises
    ------
    AdviceError
        If the volume or the sides are below zero or the face is not above zero.

    Examples
    --------
    On a face of 1000 cm^2 and sides of 200 cm^2, 15.5 mL stay on the sides:

    >>> round(face_film_mm(215.5, 100_000, 20_000), 3)
    2.0
    """
    face, sides = number(face_mm2, "An area", above=True), number(sides_mm2, "An area")
    film = film_mm(volume_ml, face + sides)
    return film + (film - min(film, LEAST_FILM_MM)) * sides / face


def crazing(
    on_piece_ml: Number,
    face_mm2: Number,
    sides_mm2: Number = 0.0,
    medium: Medium = "pouring",
    *,
    as_advised: bool = False,
) -> Advice:
    """Judge whether the wet film left on a face is so thick that it tends to craze as it dries.

    Parameters
    ----------
    on_piece_ml : float or Decimal
        Paint that stays on the piece, all layers, run-off taken out, [mL]
    face_mm2, sides_mm2 : float or Decimal
        The face, and the painted sides, which drain, [mm^2]
    medium : str
        "pouring" or "anti-craze" for paint with enough of such a medium, else "ordinary", [-]
    as_advised : bool
        Whether no more was poured than is advised for the piece: then a thick film is worth a note
        and no warning, [-]

    Returns
    -------
    advice : Advice
        Mean wet film on the face against 1.5 mm or 3 mm, [mm]

    Raises
    ------
    AdviceError
        If the volume is below zero or the face is not above zero.

    Examples
    --------
    >>> judged = crazing(60, 12_000)
    >>> judged.computed, judged.limit, judged.severity
    (5.0, 3.0, 'caution')
    >>> crazing(18, 10_000, medium="ordinary", as_advised=True).severity
    'note'

    References
    ----------
    Paint makers' published guidance: films of 1/16 in and more craze with ordinary mediums; keep
    films at or below 1/8 in with pouring mediums.
    """
    film, limit = face_film_mm(on_piece_ml, face_mm2, sides_mm2), CRAZING_FILM_MM[medium]
    thick = film > limit or (medium == "ordinary" and film == limit)
    severity: Severity = ("note" if as_advised else "caution") if thick else "fine"
    end = "from" if medium == "ordinary" else "above"
    return Advice(
        code="crazing",
        sentence=f"The wet film on the face is {film:.1f} mm; "
        + (
            f"{end} {limit:g} mm {KINDS[medium]} tends to craze. {WAY_OUT[medium]}"
            if thick
            else f"{KINDS[medium]} is less likely to craze up to about {limit:g} mm."
        ),
        computed=film,
        limit=limit,
        unit="mm",
        source=PAINT_MAKERS,
        severity=severity,
    )


def let_run_off(
    poured_ml: Number, face_mm2: Number, sides_mm2: Number = 0.0, medium: Medium = "pouring"
) -> Advice:
    """Say how much of what is poured must run off for the face to be less likely to craze.

    Parameters
    ----------
    poured_ml : float or Decimal
        Everything poured on the piece, all layers, above zero, [mL]
    face_mm2, sides_mm2 : float or Decimal
        The face, and the painted sides, which drain, [mm^2]
    medium : str
        As for `crazing`, [-]

    Returns
    -------
    advice : Advice
        Film on the face if nothing ran off, against the medium's limit; never a warning, [mm]

    Raises
    ------
    AdviceError
        If the volume or the face is not above zero, or the sides are below zero.

    Examples
    --------
    6 mm of paint on a face without sides: half of it must go.

    >>> let_run_off(60, 10_000).sentence
    'Let at least 50 % of the paint run off, so that no more than 3 mm stays on the face.'

    References
    ----------
    As for `crazing`.
    """
    poured = number(poured_ml, "A volume", above=True)
    film, limit = face_film_mm(poured, face_mm2, sides_mm2), CRAZING_FILM_MM[medium]
    shed = max(film - limit, 0.0) * number(face_mm2, "An area", above=True) / 1000 / poured
    bears = "less than" if medium == "ordinary" else "no more than"
    must = (
        f"Let at least {100 * shed:.0f} % of the paint run off, so that {bears} {limit:g} mm "
        "stays on the face."
    )
    if shed > MOST_SHED + 1e-9:
        must = f"{100 * shed:.0f} % of the paint would have to run off, so that {bears} {limit:g} "
        must += f"mm stays on the face, and hardly any pour sheds that much. {INSTEAD[medium]}"
    return Advice(
        code="let-run-off",
        sentence=must
        if shed > 0.005
        else f"All of it may stay on the face: that is {bears} {limit:g} mm.",
        computed=film,
        limit=limit,
        unit="mm",
        source=PAINT_MAKERS,
        severity="fine",
    )


def as_advised(poured_ml: Number, median_ml: Number, most_ml: Number) -> Advice:
    """Say that what is poured is neither too little nor too much: it is what was advised.

    Parameters
    ----------
    poured_ml : float or Decimal
        Everything poured on the piece, all layers, [mL]
    median_ml, most_ml : float or Decimal
        What it was expected to take, and what it was advised to mix for it, [mL]

    Returns
    -------
    advice : Advice
        What is poured against the most, never a warning, [mL]

    Raises
    ------
    AdviceError
        If an amount is below zero.

    Examples
    --------
    >>> as_advised(400, 390, 900).severity
    'fine'
    """
    poured, median, most = (number(ml, "A volume") for ml in (poured_ml, median_ml, most_ml))
    return Advice(
        code="as-advised",
        sentence=f"{poured:.0f} mL is poured, where a piece takes about {median:.0f} mL and "
        f"{most:.0f} mL are mixed for it.",
        computed=poured,
        limit=most,
        unit="mL",
        source="the pours the estimate rests on",
        severity="fine",
    )


def short_of_sides(poured_ml: Number, wetted_area_mm2: Number) -> Advice:
    """Judge whether what is poured is enough to wet the face and the sides.

    Parameters
    ----------
    poured_ml : float or Decimal
        Everything poured on the piece, all layers, [mL]
    wetted_area_mm2 : float or Decimal
        Face and painted sides, above zero, [mm^2]

    Returns
    -------
    advice : Advice
        What is poured against a film of 0.775 mm on all of the area, [mL]

    Raises
    ------
    AdviceError
        If the volume is below zero or the area is not above zero.

    Examples
    --------
    An 8 x 8 in canvas, 1.5 in deep, is 64 in^2 of face and 48 in^2 of sides: 56 mL at least.

    >>> short_of_sides(40, 112 * 645.16).limit
    56.0

    References
    ----------
    The least of the published rules for pours, 0.5 mL for each square inch, taken over the face
    and the sides.
    """
    poured = number(poured_ml, "A volume")
    needed = LEAST_FILM_MM * number(wetted_area_mm2, "An area", above=True) / 1000
    short = poured < needed
    return Advice(
        code="short-of-sides",
        sentence=f"{poured:.0f} mL is poured; "
        + (
            f"wetting the face and the sides takes at least {needed:.0f} mL, so corners will stay "
            "bare. Pour more."
            if short
            else f"wetting the face and the sides takes about {needed:.0f} mL at least."
        ),
        computed=poured,
        limit=needed,
        unit="mL",
        source="the least published rule for pours, 0.5 mL per square inch",
        severity="caution" if short else "fine",
    )


def outside_measured(size_mm: Number, smallest_mm: Number, largest_mm: Number) -> Advice:
    """Judge whether a size lies outside those that have been measured.

    Parameters
    ----------
    size_mm : float or Decimal
        Radius of the circle with the piece's wetted area, above zero, [mm]
    smallest_mm, largest_mm : float or Decimal
        The same for the smallest and the largest piece known, above zero, [mm]

    Returns
    -------
    advice : Advice
        Size against the nearer end of what is known, [mm]

    Raises
    ------
    AdviceError
        If a size is not above zero.

    Examples
    --------
    >>> outside_measured(400, 60, 250).severity
    'caution'
    """
    size = number(size_mm, "A size", above=True)
    smallest = number(smallest_mm, "A size", above=True)
    largest = number(largest_mm, "A size", above=True)
    outside = not smallest <= size <= largest
    word, limit = ("smaller", smallest) if size < smallest else ("larger", largest)
    return Advice(
        code="outside-measured",
        sentence=(
            f"This piece is {word} than any measured: the range is wide. Mix in two goes, and log "
            "what it takes."
            if outside
            else "Pieces of about this size have been measured."
        ),
        computed=size,
        limit=limit,
        unit="mm",
        source="the pours the estimate rests on",
        severity="caution" if outside else "fine",
    )
