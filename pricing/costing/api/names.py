"""What a studio works with, as others refer to it."""

from pricing.models import Channel, Customer, Palette, Product, ResinKit, SavedSurface
from studio.api.rows import name_of

CustomerName, ChannelName, ResinKitName, SurfaceName, PaletteName, ProductName = (
    name_of(model) for model in (Customer, Channel, ResinKit, SavedSurface, Palette, Product)
)
