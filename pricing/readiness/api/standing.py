"""Where a pour stands, as it is told."""

from rest_framework import serializers


class StandingOut(serializers.Serializer):
    """From which day on the pieces of a pour are at each stage.

    Where ``not_known`` says why nobody knows, ``safe_from`` is null and the other days are only
    planned by. Without a topcoat the days of resin are null.
    """

    film_mm = serializers.FloatField(help_text="Wet film on the face, in mm.")
    is_guess = serializers.BooleanField(help_text="Whether how much ran off is our guess.")
    room_noted = serializers.BooleanField()
    touch_dry_on = serializers.DateField()
    dry_on = serializers.DateField(help_text="Dry enough for resin.")
    weighed_dry_on = serializers.DateField(
        allow_null=True, help_text="Dry by the weight of a piece; null where nobody weighed it."
    )
    still_loses = serializers.BooleanField(help_text="Whether a piece still grows lighter.")
    varnish_on = serializers.DateField()
    cured_on = serializers.DateField(help_text="The paint itself.")
    coated_on = serializers.DateField(allow_null=True)
    handle_on = serializers.DateField(allow_null=True)
    resin_cured_on = serializers.DateField(allow_null=True)
    safe_from = serializers.DateField(allow_null=True, help_text="To pack, to sell and to use.")
    not_known = serializers.CharField(allow_blank=True)
