"""Resin kits, channels and customers."""

from copy import copy
from decimal import ROUND_HALF_UP
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from inventory.models import Material
from inventory.supplies.api.materials import MaterialName
from pricing.estimating.kits import kit_problems
from pricing.estimating.resins import KitOnHand, kit_on_hand
from pricing.models import Channel, Customer, ResinKit
from studio.api.acts import answer
from studio.api.asked import KeptFilters
from studio.api.fields import LengthField, MoneyField
from studio.api.rows import OwnId, RowIn, RowOut
from studio.api.viewsets import RegisterViewSet
from studio.sight import ADDRESSES, PRICES

OF_CUSTOMERS = dict.fromkeys(("email", "phone", "address", "notes"), ADDRESSES)


class ResinKitOut(RowOut):
    """A two-part topcoat, with what a person read off its label; the label has the last word.

    ``unchecked`` names the figures that nobody has read: those that are empty, or all of those that
    the kit was once filled in with and still has. Cautious ones are counted with meanwhile, and
    never a ratio.
    """

    resin, hardener = MaterialName(), MaterialName()
    unchecked = serializers.SerializerMethodField()

    class Meta:
        model = ResinKit
        exclude = ("studio", "changed_at")
        read_only_fields = tuple(field.name for field in ResinKit._meta.fields)

    def get_unchecked(self, kit: ResinKit) -> list[str]:
        return sorted(kit.unchecked)


class KitOnHandOut(serializers.Serializer):
    """What is on hand of a kit's two parts: ``mixable_ml`` is the resin that they give, ``short``
    the part that runs out first (A or B, nothing where both end together), ``over_ml`` what stays
    over of the other. Where it cannot be said, ``problem`` says why.

    ``hardener_off`` is by which share the hardener is off if the kit's ratio is measured the other
    way, by weight for one by volume: above zero for too much. ``warning`` says so in words. The
    maker's safety data sheet comes first; ``cautions`` are the usual ones.
    """

    mixable_ml = serializers.DecimalField(12, 1, source="left.ml", allow_null=True, default=None)
    short = serializers.ChoiceField(["A", "B", ""], source="left.short", default="")
    over_ml = serializers.DecimalField(12, 1, source="left.over_ml", allow_null=True, default=None)
    problem = serializers.CharField()
    hardener_off = serializers.DecimalField(8, 4, allow_null=True, rounding=ROUND_HALF_UP)
    warning = serializers.CharField(source="warned.sentence", default="")
    cautions = serializers.ListField(child=serializers.CharField())


class ResinKitIn(RowIn):
    resin = OwnId(queryset=Material.objects.filter(kind=Material.Kind.RESIN))
    hardener = OwnId(queryset=Material.objects.filter(kind=Material.Kind.HARDENER))
    film_mm = LengthField(required=False)
    maximum_film_mm = LengthField(required=False, allow_null=True)

    class Meta:
        model = ResinKit
        exclude = ("id", "studio", "archived_at", "changed_at")

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        data = super().validate(data)
        kit = copy(self.instance) if self.instance else ResinKit()
        for name, value in data.items():
            setattr(kit, name, value)
        if problems := kit_problems(kit):
            raise serializers.ValidationError({name: [one] for name, one in problems.items()})
        return data


class ResinKits(RegisterViewSet):
    """The resin kits, with what their makers state."""

    model, out, takes = ResinKit, ResinKitOut, ResinKitIn
    filterset_class = KeptFilters
    search_fields = sort_fields = ("name",)

    def rows(self) -> QuerySet[ResinKit]:
        return self.studio.resin_kits.select_related("resin", "hardener")

    @answer(KitOnHandOut)
    def on_hand(self, kit: ResinKit) -> KitOnHand:
        """How much can still be mixed of a kit from what is on hand, and which part is short."""
        return kit_on_hand(kit)


class ChannelOut(RowOut):
    """A way of selling; ``percent_fee`` is a share of one, such as 0.065."""

    class Meta:
        model = Channel
        exclude = ("studio", "changed_at")
        read_only_fields = tuple(field.name for field in Channel._meta.fields)


class ChannelIn(RowIn):
    fixed_fee = MoneyField(required=False)
    listing_fee = MoneyField(required=False)

    class Meta:
        model = Channel
        exclude = ("id", "studio", "archived_at", "changed_at")


class Channels(RegisterViewSet):
    """The ways of selling, and what each keeps of the price."""

    model, out, takes = Channel, ChannelOut, ChannelIn
    sights = (PRICES,)
    write_role = "owner"
    filterset_class = KeptFilters
    search_fields = sort_fields = ("name",)

    def rows(self) -> QuerySet[Channel]:
        return self.studio.channels.all()


class CustomerOut(RowOut):
    sights = OF_CUSTOMERS

    class Meta:
        model = Customer
        exclude = ("studio", "changed_at")
        read_only_fields = tuple(field.name for field in Customer._meta.fields)


class CustomerIn(RowIn):
    sights = OF_CUSTOMERS

    class Meta:
        model = Customer
        fields = ("name", "email", "phone", "address", "notes")


class Customers(RegisterViewSet):
    """The people who commission and buy."""

    model, out, takes = Customer, CustomerOut, CustomerIn
    filterset_class = KeptFilters
    search_fields = ("name", "email")
    sort_fields = ("name",)

    def rows(self) -> QuerySet[Customer]:
        return self.studio.customers.all()
