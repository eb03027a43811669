"""What the ground floor's endpoints give and take."""

from typing import ClassVar

from rest_framework import serializers

from studio.api.rows import RowOut
from studio.models import Membership, Studio
from studio.models.people import Role
from studio.sight import COSTS, PRICES, PROFIT

# Changed from a day on, by an act of its own.
# What acts of their own change.
KEPT = (
    *("costing", "costing_next", "costing_next_from", "closed_up_to", "days_kept_from"),
    *("is_example", "first_steps_left_at"),
)


class StudioOut(RowOut):
    """A studio; ``costing`` is the method in force today."""

    costing = serializers.ChoiceField(
        Studio.Costing.choices, source="costing_in_force", read_only=True
    )

    sights: ClassVar = {
        **dict.fromkeys(("labour_rate", "overhead_rate", "monthly_costs"), COSTS),
        **dict.fromkeys(("rounding_step", "minimum_charge", "deposit"), PRICES),
        **dict.fromkeys(("margin", "markup", "price_by"), PROFIT),
    }

    class Meta:
        model = Studio
        fields = [field.name for field in Studio._meta.fields]
        read_only_fields = fields


class StudioIn(serializers.ModelSerializer):
    class Meta:
        model = Studio
        exclude = ["id", "created_at", *KEPT]


class PersonOut(RowOut):
    name = serializers.CharField(source="user.get_full_name")
    email = serializers.EmailField(source="user.email")

    class Meta:
        model = Membership
        fields = ["id", "name", "email", "role", "sees_costs", "joined_at"]
        read_only_fields = fields


class RoleIn(serializers.Serializer):
    """What a member may do, and whether as a maker they are trusted with costs; unchanged, if not
    said."""

    role = serializers.ChoiceField(choices=Role.choices)
    sees_costs = serializers.BooleanField(required=False)


class WhyIn(serializers.Serializer):
    why = serializers.CharField(max_length=200)
