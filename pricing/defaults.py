"""What a new studio starts with: techniques with their steps, and a channel.

Success rates and minutes are common practice, no source, and rough: a studio corrects them to its
own hand on the technique's page.
"""

from decimal import Decimal

from pricing.models import Channel, LabourStep, Technique

Slug, Step = Technique.Slug, LabourStep.Step

# Share of pieces fit to sell, then minutes of set-up and of pouring each piece.
TECHNIQUES = {
    Slug.BLOOM: ("0.85", 25, 6),
    Slug.SWIPE: ("0.90", 20, 5),
    Slug.FLIP_CUP: ("0.90", 20, 4),
    Slug.STRAIGHT_POUR: ("0.95", 15, 3),
    Slug.RING_POUR: ("0.90", 20, 5),
    Slug.BLOW_OUT: ("0.85", 20, 7),
}
# Minutes once a session, and again for each piece; packing is for each set.
OTHER_STEPS = {Step.CLEAN: (0, 3), Step.TOPCOAT: (10, 5), Step.PACK: (0, 4)}

OWN_SALE = "Own studio"


def prepare_studio(studio):
    """Give a studio the techniques and the channel it lacks; harmless to repeat."""
    for slug in Slug:
        rate, set_up, pour_each = TECHNIQUES[slug]
        technique, is_new = Technique.objects.get_or_create(
            studio=studio, slug=slug, defaults={"success_rate": Decimal(rate)}
        )
        if is_new:
            _add_steps(technique, {Step.SET_UP: (set_up, 0), Step.POUR: (0, pour_each)})
    Channel.objects.get_or_create(studio=studio, name=OWN_SALE)


def _add_steps(technique, own_steps):
    LabourStep.objects.bulk_create(
        LabourStep(
            technique=technique,
            step=step,
            fixed_minutes=Decimal(fixed),
            minutes_each=Decimal(each),
        )
        for step, (fixed, each) in {**own_steps, **OTHER_STEPS}.items()
    )
