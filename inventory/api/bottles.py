"""Bottles: one container each, found by its code; what may be changed about it, and its life."""

from django.db.models import Q
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.models import Bottle, Movement
from inventory.supplies.api.materials import MaterialName
from studio.api.rows import RowIn, asked, asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView


class BottleOut(serializers.ModelSerializer):
    """One container; ``capacity`` and ``remaining`` are in the material's unit."""

    material = MaterialName()
    keeps_until = serializers.DateField(allow_null=True)
    has_silicone = serializers.BooleanField(source="holds_silicone")

    class Meta:
        model = Bottle
        fields = [
            "id",
            "code",
            "material",
            "capacity",
            "remaining",
            "value",
            "price_paid",
            "tare_g",
            "density_g_per_ml",
            "has_silicone",
            "place",
            "received_on",
            "opened_on",
            "expires_on",
            "keeps_until",
            "pack",
            "delivery",
            "archived_at",
        ]
        read_only_fields = fields


class BottleIn(RowIn):
    """What may be changed about a bottle: never what is in it."""

    class Meta:
        model = Bottle
        fields = ["place", "opened_on", "expires_on", "tare_g", "density_g_per_ml"]


class BottleMovementOut(serializers.ModelSerializer):
    """One change of a bottle, and the entry it is part of: who, when, why and what for.

    ``undoes`` and ``undone_by`` name the entries that a correction ties together.
    """

    happened_at = serializers.DateTimeField(source="entry.happened_at")
    recorded_at = serializers.DateTimeField(source="entry.recorded_at")
    by = serializers.CharField(source="entry.by.username", allow_null=True, default=None)
    purpose = serializers.CharField(source="entry.purpose")
    why = serializers.CharField(source="entry.why")
    undoes = serializers.IntegerField(source="entry.reverses_id", allow_null=True)
    undone_by = serializers.IntegerField(
        source="entry.reversed_by.pk", allow_null=True, default=None
    )

    class Meta:
        model = Movement
        fields = [
            "id",
            "entry",
            "kind",
            "quantity",
            "value",
            "happened_at",
            "recorded_at",
            "by",
            "purpose",
            "why",
            "undoes",
            "undone_by",
        ]
        read_only_fields = fields


def bottles_of(studio):
    """Return the bottles of a studio with what they hold."""
    return studio.bottles.select_related("material")


def found_bottle(request, code):
    """Return the bottle with this code, in capitals or not, or a 404."""
    return get_object_or_404(bottles_of(request.studio), code__iexact=code)


class BottlesEndpoint(StudioView):
    """The bottles on the shelf."""

    @extend_schema(
        operation_id="bottles_list",
        parameters=[
            OpenApiParameter("q", str, description="Part of a code, a material or a place."),
            OpenApiParameter("material", int, description="The id of a material."),
            OpenApiParameter("recipe", int, description="The id of a recipe: bottles of its mix."),
            OpenApiParameter("all", bool, description="List empty and put away bottles too."),
        ],
        responses=pages_of(BottleOut),
    )
    def get(self, request):
        """List the bottles that hold something, found by code, material or place."""
        rows, wanted = bottles_of(request.studio), request.query_params
        if wanted.get("all") != "true":
            rows = rows.on_shelf().filter(remaining__gt=0)
        if words := wanted.get("q", "").strip():
            rows = rows.filter(
                Q(code__icontains=words)
                | Q(material__name__icontains=words)
                | Q(place__icontains=words)
            )
        if (pk := asked_number(request, "material")) is not None:
            rows = rows.filter(material=pk)
        if (pk := asked_number(request, "recipe")) is not None:
            rows = rows.filter(material__recipe=pk)
        return self.paginated(rows, BottleOut)


class BottleEndpoint(StudioView):
    """One bottle."""

    @extend_schema(operation_id="bottles_read", responses=BottleOut)
    def get(self, request, code):
        """Read one bottle."""
        return Response(BottleOut(found_bottle(request, code)).data)

    @extend_schema(
        operation_id="bottles_change", request=BottleIn(partial=True), responses=BottleOut
    )
    def patch(self, request, code):
        """Change where a bottle stands, its dates, tare and density."""
        asked(request, BottleIn, found_bottle(request, code), partial=True).save()
        return Response(BottleOut(found_bottle(request, code)).data)


class BottleLifeEndpoint(StudioView):
    """The life of one bottle."""

    @extend_schema(operation_id="bottles_movements", responses=pages_of(BottleMovementOut))
    def get(self, request, code):
        """List what happened to a bottle, from the day it came."""
        moves = found_bottle(request, code).movements
        moves = moves.select_related("entry__by", "entry__reversed_by")
        return self.paginated(moves, BottleMovementOut)
