"""What is taken of a resin while nobody has read it off its label: cautious figures, never a ratio.

They lie on the safe side of what makers of epoxy topcoats publish: a pot life of 25 to 70 minutes
at 24 °C for 100 g; a next coat from 4 or 6 hours on until 10 or 12; light use after 48 to 72 hours;
a full cure of 24 hours to two weeks; 3.2 mm (1/8 in) at most in one pour; a room of 21 to 29 °C.
For a kit that nobody knows, and so shown as such: common practice, no source.
"""

from decimal import Decimal

# Taken where the label has not been read, by the name of the figure.
GUESSES = {
    "maximum_film_mm": Decimal("3.2"),
    "pot_life_minutes": Decimal(25),
    "pot_life_c": Decimal(24),
    "pot_life_mass_g": Decimal(100),
    "recoat_from_hours": Decimal(6),
    "recoat_to_hours": Decimal(10),
    "handle_hours": Decimal(72),
    "cure_hours": Decimal(336),
    "room_from_c": Decimal(21),
    "room_to_c": Decimal(29),
}
# What every kit was once filled in with: a kit that still has all of it was never checked.
ONCE_FILLED_IN = {
    "maximum_film_mm": Decimal("3.2"),
    "pot_life_minutes": Decimal(40),
    "pot_life_c": Decimal(24),
    "pot_life_mass_g": Decimal(100),
    "recoat_from_hours": Decimal(4),
    "recoat_to_hours": Decimal(10),
    "handle_hours": Decimal(24),
    "cure_hours": Decimal(168),
}
OUR_GUESS = "our guess, read it off the label"
NOT_CHECKED = "not yet checked"
