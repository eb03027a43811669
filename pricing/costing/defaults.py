"""What a new studio starts with: techniques with their steps, and a channel."""

from collections.abc import Mapping
from decimal import Decimal

from pricing.models import Channel, LabourStep, Technique
from pricing.techniques import TECHNIQUES
from studio.models import Studio

Step = LabourStep.Step

# Minutes once a session, and again for each piece; packing is for each set. Common practice, no
# source, and rough: a studio corrects them on the technique's page.
OTHER_STEPS = {Step.CLEAN: (0, 3), Step.TOPCOAT: (10, 5), Step.PACK: (0, 4)}

OWN_SALE = "Own studio"


def prepare_studio(studio: Studio) -> None:
    """Give a studio the techniques and the channel it lacks; harmless to repeat."""
    for facts in TECHNIQUES:
        technique, is_new = Technique.objects.get_or_create(
            studio=studio, slug=facts.slug, defaults={"success_rate": facts.success_rate}
        )
        if is_new:
            minutes = {
                Step.SET_UP: (facts.set_up_minutes, 0),
                Step.POUR: (0, facts.pour_minutes),
            }
            _add_steps(technique, minutes)
    Channel.objects.get_or_create(studio=studio, name=OWN_SALE)


def _add_steps(technique: Technique, own_steps: Mapping[Step, tuple[int, int]]) -> None:
    LabourStep.objects.bulk_create(
        LabourStep(
            technique=technique,
            step=step,
            fixed_minutes=Decimal(fixed),
            minutes_each=Decimal(each),
        )
        for step, (fixed, each) in {**own_steps, **OTHER_STEPS}.items()
    )
