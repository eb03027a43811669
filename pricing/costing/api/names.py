"""What a studio works with, as others refer to it."""

from pricing.models import Channel, Customer, Palette, Product, ResinKit, SavedSurface
from studio.api.rows import RowOut


class CustomerName(RowOut):
    class Meta:
        model = Customer
        fields = read_only_fields = ("id", "name")


class ChannelName(RowOut):
    class Meta:
        model = Channel
        fields = read_only_fields = ("id", "name")


class ResinKitName(RowOut):
    class Meta:
        model = ResinKit
        fields = read_only_fields = ("id", "name")


class SurfaceName(RowOut):
    class Meta:
        model = SavedSurface
        fields = read_only_fields = ("id", "name")


class PaletteName(RowOut):
    class Meta:
        model = Palette
        fields = read_only_fields = ("id", "name")


class ProductName(RowOut):
    class Meta:
        model = Product
        fields = read_only_fields = ("id", "name")
