"""Fields by which other rows refer to what a studio works with."""

from pricing.models import Channel, Customer, Palette, Product, ResinKit, SavedSurface
from studio.api.rows import name_of

CustomerName, ChannelName, ResinKitName, SurfaceName, PaletteName, ProductName = (
    name_of(model) for model in (Customer, Channel, ResinKit, SavedSurface, Palette, Product)
)
