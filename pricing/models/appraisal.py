"""What somebody says a thing on hand would bring, where no price on record says it."""

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from inventory.models import Bottle, Material
from pricing.models.fields import money_field
from pricing.models.sale import PieceSet
from studio.amounts import AmountField
from studio.modelfields import DayField, LineField, MomentField
from studio.models import Studio, Tracked
from studio.money import ZERO


class Appraisal(Tracked):
    """What all of a material, a bottle or a set would bring, after what selling it costs.

    ``quantity`` is how much of the material or bottle was on hand then, so that the value goes with
    what is left of it later. The latest one that stands counts.
    """

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="appraisals")
    material = models.ForeignKey(
        Material, on_delete=models.CASCADE, null=True, blank=True, related_name="appraisals"
    )
    bottle = models.ForeignKey(
        Bottle, on_delete=models.CASCADE, null=True, blank=True, related_name="appraisals"
    )
    piece_set = models.ForeignKey(
        PieceSet, on_delete=models.CASCADE, null=True, blank=True, related_name="appraisals"
    )
    quantity = AmountField(decimal_places=4, default=1)
    value = money_field(validators=[MinValueValidator(ZERO)])
    reason = LineField(max_length=200)
    day = DayField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    recorded_at = MomentField(default=timezone.now)
    withdrawn_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["-day", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="appraisal_of_one_thing",
                condition=Q(material__isnull=False, bottle=None, piece_set=None)
                | Q(material=None, bottle__isnull=False, piece_set=None)
                | Q(material=None, bottle=None, piece_set__isnull=False),
            ),
            models.CheckConstraint(
                name="appraisal_of_something", condition=Q(quantity__gt=0) & Q(value__gte=0)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.thing}: {self.value}"

    @property
    def thing(self) -> Material | Bottle | PieceSet | None:
        """What was appraised."""
        return self.material or self.bottle or self.piece_set
