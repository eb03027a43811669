"""Resin kits, channels and customers."""

from django.db.models import QuerySet

from inventory.models import Material
from inventory.supplies.api.materials import MaterialName
from pricing.models import Channel, Customer, ResinKit
from studio.api.asked import KeptFilters
from studio.api.fields import LengthField, MoneyField
from studio.api.rows import OwnId, RowIn, RowOut
from studio.api.viewsets import Kept


class ResinKitOut(RowOut):
    """A two-part topcoat; every figure is the maker's own. Its data sheet has the last word."""

    resin, hardener = MaterialName(), MaterialName()

    class Meta:
        model = ResinKit
        exclude = ("studio", "changed_at")
        read_only_fields = tuple(field.name for field in ResinKit._meta.fields)


class ResinKitIn(RowIn):
    resin = OwnId(queryset=Material.objects.filter(kind=Material.Kind.RESIN))
    hardener = OwnId(queryset=Material.objects.filter(kind=Material.Kind.HARDENER))
    film_mm = LengthField(required=False)
    maximum_film_mm = LengthField(required=False)

    class Meta:
        model = ResinKit
        exclude = ("id", "studio", "archived_at", "changed_at")


class ResinKits(Kept):
    """The resin kits, with what their makers state."""

    model, out, takes = ResinKit, ResinKitOut, ResinKitIn
    filterset_class = KeptFilters
    search_fields = sort_fields = ("name",)

    def rows(self) -> QuerySet[ResinKit]:
        return self.studio.resin_kits.select_related("resin", "hardener")


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


class Channels(Kept):
    """The ways of selling, and what each keeps of the price."""

    model, out, takes = Channel, ChannelOut, ChannelIn
    write_role = "owner"
    filterset_class = KeptFilters
    search_fields = sort_fields = ("name",)

    def rows(self) -> QuerySet[Channel]:
        return self.studio.channels.all()


class CustomerOut(RowOut):
    class Meta:
        model = Customer
        exclude = ("studio", "changed_at")
        read_only_fields = tuple(field.name for field in Customer._meta.fields)


class CustomerIn(RowIn):
    class Meta:
        model = Customer
        fields = ("name", "email", "phone", "address", "notes")


class Customers(Kept):
    """The people who commission and buy."""

    model, out, takes = Customer, CustomerOut, CustomerIn
    filterset_class = KeptFilters
    search_fields = ("name", "email")
    sort_fields = ("name",)

    def rows(self) -> QuerySet[Customer]:
        return self.studio.customers.all()
