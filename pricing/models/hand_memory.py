"""What the estimates keep of a studio's pours."""

from django.db import models

from pricing.models.pour import Pour
from studio.modelfields import MomentField
from studio.models import Studio


class HandMemory(models.Model):
    """What a studio's pours taught, so that no page looks at all of them again.

    A cache, which `pricing.estimating.remembering` renews beside the pages: ``memory`` is packed as
    `pricing.estimating.coverage.packed` says. Pours up to the last one are in its state; those
    after are looked at one by one.
    """

    studio = models.OneToOneField(Studio, on_delete=models.CASCADE, related_name="hand_memory")
    memory = models.BinaryField()
    model = models.CharField(max_length=64, help_text="The model that it is good for.")
    last = models.ForeignKey(Pour, on_delete=models.CASCADE, null=True, related_name="+")
    read_at = MomentField(help_text="When the pours were read.")

    def __str__(self) -> str:
        return f"What {self.studio} poured"
