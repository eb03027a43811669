"""The surfaces a studio pours on, as measured."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from inventory.models import Material
from pricing.models.fields import length_field
from studio.modelfields import LineField, LinesField, MomentField, SmallWholeField
from studio.models import Studio, Tracked
from studio.money import ZERO
from studio.units import ParsedSize, format_size

# Sizes are kept to a hundredth of a millimetre.
ROUNDED = Decimal("0.02")


class SavedSurface(Tracked):
    """A size the studio uses: its measured dimensions, and the stock item it is."""

    class Shape(models.TextChoices):
        RECTANGLE = "rectangle", "Rectangle or square"
        CIRCLE = "circle", "Circle"
        OVAL = "oval", "Oval"
        POLYGON = "polygon", "Regular polygon"
        RING = "ring", "Ring"
        OUTLINE = "outline", "Any outline"

    DIMENSIONS = ("shape", "width_mm", "height_mm", "depth_mm", "sides", "inner_mm")

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="surfaces")
    name = LineField(max_length=80)
    nominal = LineField(
        max_length=60, blank=True, help_text="The size it is sold as, such as 4 × 4 in."
    )
    shape = models.CharField(max_length=9, choices=Shape, default=Shape.RECTANGLE)
    width_mm = length_field("measured width (mm)")
    height_mm = length_field("measured height (mm)")
    depth_mm = length_field("depth of the sides (mm)", default=ZERO)
    sides_painted = LineField(
        max_length=40,
        default="all",
        help_text="“all”, “none”, or some of: top, right, bottom, left.",
    )
    inset_mm = length_field(
        "bevel (mm)", default=ZERO, help_text="How far the flat face stops short of the edge."
    )
    sides = SmallWholeField(
        null=True, blank=True, validators=[MinValueValidator(3), MaxValueValidator(60)]
    )
    inner_mm = length_field("hole (mm)", null=True, blank=True)
    outline = LinesField(
        blank=True, help_text="Points in mm such as “0,0 200,0 200,100”, or a simple SVG path."
    )
    material = models.ForeignKey(
        Material,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="surfaces",
        help_text="The tile, canvas or panel in stock. Leave empty when the customer brings it.",
    )
    archived_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        verbose_name = "surface"
        constraints = [models.UniqueConstraint(fields=["studio", "name"], name="surface_name_once")]

    def __str__(self) -> str:
        return self.name

    def parsed(self) -> ParsedSize:
        """Return the measured size, as size texts are read and written."""
        return ParsedSize(**{name: getattr(self, name) for name in self.DIMENSIONS})

    @property
    def size(self) -> str:
        """The measured size in the studio's inches or centimetres."""
        if self.shape == self.Shape.OUTLINE:
            box = ParsedSize("rectangle", self.width_mm, self.height_mm, self.depth_mm)
            return f"an outline within {format_size(box, _tidiest(box, self.studio.lengths))}"
        return format_size(self.parsed(), _tidiest(self.parsed(), self.studio.lengths))


def _tidiest(parsed: ParsedSize, lengths: str) -> str:
    """Return the measure a size reads best in: the studio's, unless only the other is even."""
    steps = {"in": Decimal("3.175"), "cm": Decimal(5)}  # an eighth of an inch, half a centimetre
    faces = (Decimal(parsed.width_mm), Decimal(parsed.height_mm))

    def even(unit: str) -> bool:
        return all(abs(face - steps[unit] * round(face / steps[unit])) < ROUNDED for face in faces)

    other = "cm" if lengths == "in" else "in"
    return other if even(other) and not even(lengths) else lengths
