"""What the steps around a pour used, as the API takes it."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from inventory.models import Material
from studio.api.rows import OwnId

MOST = 40


class UsedIn(serializers.Serializer):
    """So much of a material, in its own unit, all pieces together."""

    material = OwnId(queryset=Material.objects)
    amount = serializers.DecimalField(13, 4, min_value=Decimal(0))


class UsedField(serializers.ListSerializer):
    """What the steps used; a material that is not named is taken as the technique says."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("help_text", self.__doc__)
        super().__init__(child=UsedIn(), required=False, max_length=MOST, **options)

    def to_internal_value(self, data: Any) -> Any:
        rows = super().to_internal_value(data)
        used = {row["material"]: row["amount"] for row in rows}
        if len(used) < len(rows):
            raise serializers.ValidationError("Name each material once.", code="unique")
        return used
