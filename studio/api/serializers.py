"""What the ground floor's endpoints give and take."""

from rest_framework import serializers

from studio.models import Membership, Studio
from studio.models.people import Role


class StudioOut(serializers.ModelSerializer):
    class Meta:
        model = Studio
        fields = [field.name for field in Studio._meta.fields]
        read_only_fields = fields


class StudioIn(serializers.ModelSerializer):
    class Meta:
        model = Studio
        exclude = ["id", "created_at"]


class PersonOut(serializers.ModelSerializer):
    name = serializers.CharField(source="user.get_full_name")
    email = serializers.EmailField(source="user.email")

    class Meta:
        model = Membership
        fields = ["id", "name", "email", "role", "joined_at"]
        read_only_fields = fields


class RoleIn(serializers.Serializer):
    role = serializers.ChoiceField(choices=Role.choices)
