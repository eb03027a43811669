from pricing.models.appraisal import Appraisal
from pricing.models.calendar import CalendarLink, DayOff, StudioCalendar, WorkingHours
from pricing.models.commission import Commission, CommissionEvent, CommissionLine, Customer
from pricing.models.consignment import ConsignedSet, Consignment
from pricing.models.finished_change import FinishedChange
from pricing.models.gone_on import GoneOn
from pricing.models.hand_memory import HandMemory
from pricing.models.judgement import Judgement
from pricing.models.money import Invoice, Payment
from pricing.models.paired import PairedTest
from pricing.models.palette import Palette, PaletteColour
from pricing.models.picture import Picture
from pricing.models.posting import Posting
from pricing.models.pour import FinishedPiece, Pour, PourLayer, Topcoating
from pricing.models.product import Product
from pricing.models.quote import Quote, QuoteLine, QuoteLink
from pricing.models.sale import Channel, PieceSet, Sale, SaleLine
from pricing.models.surface import SavedSurface
from pricing.models.technique import LabourStep, Technique
from pricing.models.tile_answer import TileAnswer
from pricing.models.topcoat import ResinKit
from pricing.models.use import Use
from pricing.models.use_change import UseChange
from pricing.models.weighing import Weighing

__all__ = [
    "Appraisal",
    "CalendarLink",
    "Channel",
    "Commission",
    "CommissionEvent",
    "CommissionLine",
    "ConsignedSet",
    "Consignment",
    "Customer",
    "DayOff",
    "FinishedChange",
    "FinishedPiece",
    "GoneOn",
    "HandMemory",
    "Invoice",
    "Judgement",
    "LabourStep",
    "PairedTest",
    "Palette",
    "PaletteColour",
    "Payment",
    "Picture",
    "PieceSet",
    "Posting",
    "Pour",
    "PourLayer",
    "Product",
    "Quote",
    "QuoteLine",
    "QuoteLink",
    "ResinKit",
    "Sale",
    "SaleLine",
    "SavedSurface",
    "StudioCalendar",
    "Technique",
    "TileAnswer",
    "Topcoating",
    "Use",
    "UseChange",
    "Weighing",
    "WorkingHours",
]
