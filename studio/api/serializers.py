"""What the ground floor's endpoints give and take."""

from rest_framework import serializers

from studio.api.rows import RowOut
from studio.models import Membership, Studio
from studio.models.people import Role

# Changed from a day on, by an act of its own.
COSTING = ("costing", "costing_next", "costing_next_from")


class StudioOut(RowOut):
    """A studio; ``costing`` is the method in force today."""

    costing = serializers.ChoiceField(
        Studio.Costing.choices, source="costing_in_force", read_only=True
    )

    class Meta:
        model = Studio
        fields = [field.name for field in Studio._meta.fields]
        read_only_fields = fields


class StudioIn(serializers.ModelSerializer):
    class Meta:
        model = Studio
        exclude = ["id", "created_at", *COSTING]


class PersonOut(RowOut):
    name = serializers.CharField(source="user.get_full_name")
    email = serializers.EmailField(source="user.email")

    class Meta:
        model = Membership
        fields = ["id", "name", "email", "role", "joined_at"]
        read_only_fields = fields


class RoleIn(serializers.Serializer):
    role = serializers.ChoiceField(choices=Role.choices)


class WhyIn(serializers.Serializer):
    why = serializers.CharField(max_length=200)
