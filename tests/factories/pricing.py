"""Surfaces, palettes, commissions, pours and sales.

Pours and topcoats come with the entry they must have, but without movements: `bench.pours` logs one
that has taken something from the shelf.
"""

import hashlib
import io
from datetime import timedelta
from decimal import Decimal

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory
from PIL import Image

from inventory.models import Material, Recipe
from pricing.models import (
    Appraisal,
    CalendarLink,
    Channel,
    Commission,
    CommissionLine,
    ConsignedSet,
    Consignment,
    Customer,
    DayOff,
    FinishedPiece,
    GoneOn,
    Invoice,
    Judgement,
    LabourStep,
    PairedTest,
    Palette,
    PaletteColour,
    Payment,
    Picture,
    PieceSet,
    Pour,
    PourLayer,
    Product,
    Quote,
    QuoteLine,
    ResinKit,
    Sale,
    SaleLine,
    SavedSurface,
    Technique,
    TileAnswer,
    Topcoating,
    UseChange,
    Weighing,
)
from studio.pictures import prepare
from tests.factories.inventory import (
    A_DAY,
    SAME_STUDIO,
    EntryFactory,
    MaterialFactory,
    RecipeFactory,
    WorkFactory,
)
from tests.factories.studio import StudioFactory, UserFactory

NUMBER = factory.Sequence(lambda n: n + 1)


def photograph(colour="#3a6ea5", kind="JPEG", size=(32, 24), **options):
    """Return a file with a picture of one colour, by Pillow."""
    stream = io.BytesIO()
    Image.new("RGB", size, colour).save(stream, kind, **options)
    return stream.getvalue()


def one_colour(colour):
    return prepare(photograph(colour))


class SavedSurfaceFactory(DjangoModelFactory):
    class Meta:
        model = SavedSurface

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Tile {n}")
    width_mm = height_mm = Decimal(100)


class TechniqueFactory(DjangoModelFactory):
    class Meta:
        model = Technique
        django_get_or_create = ("studio", "slug")

    studio = factory.SubFactory(StudioFactory)
    slug = Technique.Slug.BLOOM


class LabourStepFactory(DjangoModelFactory):
    class Meta:
        model = LabourStep

    technique = factory.SubFactory(TechniqueFactory)
    step = LabourStep.Step.POUR


class PaletteFactory(DjangoModelFactory):
    class Meta:
        model = Palette

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Palette {n}")
    base = factory.SubFactory(RecipeFactory, studio=SAME_STUDIO, role=Recipe.Role.BASE)


class PaletteColourFactory(DjangoModelFactory):
    class Meta:
        model = PaletteColour

    palette = factory.SubFactory(PaletteFactory)
    recipe = factory.SubFactory(RecipeFactory, studio=factory.SelfAttribute("..palette.studio"))


class ResinKitFactory(DjangoModelFactory):
    class Meta:
        model = ResinKit

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Resin kit {n}")
    resin = factory.SubFactory(MaterialFactory, studio=SAME_STUDIO, kind=Material.Kind.RESIN)
    hardener = factory.SubFactory(MaterialFactory, studio=SAME_STUDIO, kind=Material.Kind.HARDENER)
    ratio_a = ratio_b = Decimal(1)
    basis = ResinKit.Basis.VOLUME
    # What a label may say; nothing of it is filled in by itself.
    maximum_film_mm = Decimal("3.2")
    pot_life_minutes, pot_life_c, pot_life_mass_g = Decimal(40), Decimal(24), Decimal(100)
    recoat_from_hours, recoat_to_hours = Decimal(4), Decimal(12)
    handle_hours, cure_hours = Decimal(24), Decimal(168)
    room_from_c, room_to_c = Decimal(21), Decimal(29)


class ProductFactory(DjangoModelFactory):
    class Meta:
        model = Product

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Product {n}")
    surface = factory.SubFactory(SavedSurfaceFactory, studio=SAME_STUDIO)
    technique = factory.SubFactory(TechniqueFactory, studio=SAME_STUDIO)
    palette = factory.SubFactory(PaletteFactory, studio=SAME_STUDIO)


class DayOffFactory(DjangoModelFactory):
    class Meta:
        model = DayOff

    studio = factory.SubFactory(StudioFactory)
    day = factory.Sequence(lambda n: A_DAY + timedelta(days=n))


class CalendarLinkFactory(DjangoModelFactory):
    class Meta:
        model = CalendarLink

    studio = factory.SubFactory(StudioFactory)
    user = factory.SubFactory(UserFactory)
    digest = factory.Sequence(lambda n: f"{n:064}")


class CustomerFactory(DjangoModelFactory):
    class Meta:
        model = Customer

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Customer {n}")


class CommissionFactory(DjangoModelFactory):
    class Meta:
        model = Commission

    studio = factory.SubFactory(StudioFactory)
    number = NUMBER
    customer = factory.SubFactory(CustomerFactory, studio=SAME_STUDIO)
    title = factory.Sequence(lambda n: f"Work {n}")
    work = factory.SubFactory(WorkFactory, studio=SAME_STUDIO)


class CommissionLineFactory(DjangoModelFactory):
    class Meta:
        model = CommissionLine

    commission = factory.SubFactory(CommissionFactory)
    surface = factory.SubFactory(
        SavedSurfaceFactory, studio=factory.SelfAttribute("..commission.studio")
    )
    technique = factory.SubFactory(
        TechniqueFactory, studio=factory.SelfAttribute("..commission.studio")
    )
    palette = factory.SubFactory(
        PaletteFactory, studio=factory.SelfAttribute("..commission.studio")
    )


class QuoteFactory(DjangoModelFactory):
    class Meta:
        model = Quote

    studio = factory.SubFactory(StudioFactory)
    commission = factory.SubFactory(CommissionFactory, studio=SAME_STUDIO)
    currency = factory.SelfAttribute("studio.currency")
    net = tax = gross = deposit = Decimal(0)
    frozen = factory.LazyFunction(lambda: {"lines": []})


class QuoteLineFactory(DjangoModelFactory):
    class Meta:
        model = QuoteLine

    quote = factory.SubFactory(QuoteFactory)
    description = factory.Sequence(lambda n: f"Piece {n}")
    quantity = 1
    unit_price = amount = Decimal(0)


class PourFactory(DjangoModelFactory):
    class Meta:
        model = Pour

    studio = factory.SubFactory(StudioFactory)
    number = NUMBER
    surface = factory.SubFactory(SavedSurfaceFactory, studio=SAME_STUDIO)
    technique = factory.SubFactory(TechniqueFactory, studio=SAME_STUDIO)
    palette = factory.SubFactory(PaletteFactory, studio=SAME_STUDIO)
    poured_at = factory.LazyFunction(timezone.now)
    entry = factory.SubFactory(EntryFactory, studio=SAME_STUDIO)


class PourLayerFactory(DjangoModelFactory):
    class Meta:
        model = PourLayer

    pour = factory.SubFactory(PourFactory)
    layer = PourLayer.Layer.BASE
    mixed_ml = Decimal(50)


class TopcoatingFactory(DjangoModelFactory):
    class Meta:
        model = Topcoating

    studio = factory.SubFactory(StudioFactory)
    pour = factory.SubFactory(PourFactory, studio=SAME_STUDIO)
    kit = factory.SubFactory(ResinKitFactory, studio=SAME_STUDIO)
    mixed_ml = Decimal(50)
    coated_at = factory.LazyFunction(timezone.now)
    entry = factory.SubFactory(EntryFactory, studio=SAME_STUDIO)


class PairedTestFactory(DjangoModelFactory):
    class Meta:
        model = PairedTest

    studio = factory.SubFactory(StudioFactory)
    number = NUMBER
    change = "straw"
    surface = factory.SubFactory(SavedSurfaceFactory, studio=SAME_STUDIO)
    technique = factory.SubFactory(TechniqueFactory, studio=SAME_STUDIO)
    palette = factory.SubFactory(PaletteFactory, studio=SAME_STUDIO)
    changed_tile = 2
    drawn_at = factory.LazyFunction(timezone.now)


class TileAnswerFactory(DjangoModelFactory):
    class Meta:
        model = TileAnswer

    studio = factory.SubFactory(StudioFactory)
    pour = factory.SubFactory(PourFactory, studio=SAME_STUDIO)
    accepted = True
    name = "Wren Alder"


class FinishedPieceFactory(DjangoModelFactory):
    class Meta:
        model = FinishedPiece

    studio = factory.SubFactory(StudioFactory)
    pour = factory.SubFactory(PourFactory, studio=SAME_STUDIO)
    number = NUMBER


class JudgementFactory(DjangoModelFactory):
    class Meta:
        model = Judgement

    piece = factory.SubFactory(FinishedPieceFactory)
    stage = Judgement.Stage.DRY
    verdict = "good"
    faults = "dust"
    cells = 4
    judged_at = factory.LazyFunction(timezone.now)


class WeighingFactory(DjangoModelFactory):
    class Meta:
        model = Weighing

    piece = factory.SubFactory(FinishedPieceFactory)
    studio = factory.SelfAttribute("piece.studio")
    grams = Decimal("212.4")
    weighed_at = factory.LazyFunction(timezone.now)


class ChannelFactory(DjangoModelFactory):
    class Meta:
        model = Channel

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Channel {n}")


class PieceSetFactory(DjangoModelFactory):
    class Meta:
        model = PieceSet

    studio = factory.SubFactory(StudioFactory)
    number = NUMBER
    name = factory.Sequence(lambda n: f"Coasters {n}")
    made_on = A_DAY


class UseChangeFactory(DjangoModelFactory):
    class Meta:
        model = UseChange

    piece_set = factory.SubFactory(PieceSetFactory)
    was = "hot"
    use = "look"
    why = "The wrong card was in the box."


class GoneOnFactory(DjangoModelFactory):
    class Meta:
        model = GoneOn

    studio = factory.SubFactory(StudioFactory)
    act = "pack"
    said = "Pour 1 is not cured."
    reason = "It is for our own shelf."


class AppraisalFactory(DjangoModelFactory):
    """A material of which 1 mL was on hand and would bring 2.00."""

    class Meta:
        model = Appraisal

    studio = factory.SubFactory(StudioFactory)
    material = factory.SubFactory(MaterialFactory, studio=SAME_STUDIO)
    quantity = Decimal(1)
    value = Decimal(2)
    reason = "Skinned over"
    day = A_DAY


class PictureFactory(DjangoModelFactory):
    """A whole picture, one of three colours, of a pour unless told otherwise."""

    class Meta:
        model = Picture

    class Params:
        made = factory.Iterator(one_colour(colour) for colour in ("#3a6ea5", "#c2452d", "#f2ead8"))

    studio = factory.SubFactory(StudioFactory)
    pour = factory.SubFactory(PourFactory, studio=SAME_STUDIO)
    number = NUMBER
    kind = "result"
    width, height = 32, 24
    full = factory.LazyAttribute(lambda one: one.made.full)
    small = factory.LazyAttribute(lambda one: one.made.small)
    size_bytes = factory.LazyAttribute(lambda one: len(one.full))
    sha256 = factory.LazyAttribute(lambda one: hashlib.sha256(one.full).hexdigest())


class SaleFactory(DjangoModelFactory):
    class Meta:
        model = Sale

    studio = factory.SubFactory(StudioFactory)
    number = NUMBER
    channel = factory.SubFactory(ChannelFactory, studio=SAME_STUDIO)
    currency = factory.SelfAttribute("studio.currency")
    tax_inclusive = factory.SelfAttribute("studio.tax_inclusive")
    sold_on = A_DAY
    booked_on = factory.SelfAttribute("sold_on")
    refund_booked_on = factory.LazyAttribute(lambda sale: getattr(sale, "refunded_on", None))


class SaleLineFactory(DjangoModelFactory):
    class Meta:
        model = SaleLine

    sale = factory.SubFactory(SaleFactory)
    piece_set = factory.SubFactory(PieceSetFactory, studio=factory.SelfAttribute("..sale.studio"))
    price = Decimal(40)


class ConsignmentFactory(DjangoModelFactory):
    class Meta:
        model = Consignment

    studio = factory.SubFactory(StudioFactory)
    number = NUMBER
    channel = factory.SubFactory(ChannelFactory, studio=SAME_STUDIO, is_consignment=True)
    currency = factory.SelfAttribute("studio.currency")
    share = Decimal("0.40")
    sent_on = A_DAY


class ConsignedSetFactory(DjangoModelFactory):
    class Meta:
        model = ConsignedSet

    consignment = factory.SubFactory(ConsignmentFactory)
    piece_set = factory.SubFactory(
        PieceSetFactory, studio=factory.SelfAttribute("..consignment.studio")
    )
    asked = Decimal(48)


class PaymentFactory(DjangoModelFactory):
    class Meta:
        model = Payment

    studio = factory.SubFactory(StudioFactory)
    number = NUMBER
    commission = factory.SubFactory(CommissionFactory, studio=SAME_STUDIO)
    currency = factory.SelfAttribute("studio.currency")
    amount = Decimal(20)
    paid_on = A_DAY
    booked_on = factory.SelfAttribute("paid_on")
    owed_after = Decimal(0)


class InvoiceFactory(DjangoModelFactory):
    class Meta:
        model = Invoice

    studio = factory.SubFactory(StudioFactory)
    number = NUMBER
    commission = factory.SubFactory(CommissionFactory, studio=SAME_STUDIO)
    issued_on = due_on = A_DAY
    currency = "USD"
    net, tax, gross = Decimal(20), Decimal(0), Decimal(20)
    frozen = factory.LazyAttribute(
        lambda one: {
            "studio": {
                name: getattr(one.studio, name)
                for name in ("name", "address", "email", "phone", "tax_number", "currency")
            }
            | {"locale": one.studio.locale},
            "customer": {"name": "Wren Alder", "address": "", "email": ""},
            "commission": {"number": 1, "title": "Coasters"},
            "quote": "Quote 1",
            "lines": [["Coasters", 1, "20.00", "20.00"]],
            "tax_rate": "0",
            "tax_inclusive": False,
            "payments": [],
            "paid": "0",
            "owed": "20.00",
            "how_to_pay": "",
            "paper": {"label": "Invoice", "issued_on": "2026-01-02", "due_on": "2026-01-16"},
        }
    )
