"""One row of each kind that a studio can have, so that a test can ask whether any of it shows."""

from datetime import date, timedelta
from decimal import Decimal as D
from types import SimpleNamespace

from django.utils import timezone

from inventory.buying.replacing import renew_replacement_costs
from inventory.mixing.batches import mix_batch
from inventory.mixing.frozen import frozen_mix, to_plain
from inventory.mixing.mix_book import mix_book
from inventory.stock import ledger as stock
from pricing.calendar.working_days import set_working_days
from pricing.costing.on_hand import note
from pricing.estimating.remembering import learn_hand
from pricing.models import Technique
from pricing.quoting.quotes import draft_quote
from pricing.selling.booking import book_sale
from studio.closing import close_months, end_of_month
from tests.factories.inventory import (
    A_DAY,
    CostingChangeFactory,
    DeliveryFactory,
    HoldFactory,
    KnownSheetFactory,
    MaterialFactory,
    OrderLineFactory,
    PackFactory,
    PurchaseOrderFactory,
    RecipeFactory,
    RecipePartFactory,
    ShelfCountFactory,
    ShelfCountLineFactory,
    SupplierFactory,
)
from tests.factories.pricing import (
    AppraisalFactory,
    CalendarLinkFactory,
    ChannelFactory,
    CommissionFactory,
    CommissionLineFactory,
    ConsignedSetFactory,
    ConsignmentFactory,
    CustomerFactory,
    DayOffFactory,
    FinishedPieceFactory,
    GoneOnFactory,
    InvoiceFactory,
    JudgementFactory,
    LabourStepFactory,
    PairedTestFactory,
    PaletteColourFactory,
    PaletteFactory,
    PaymentFactory,
    PictureFactory,
    PieceSetFactory,
    PourFactory,
    PourLayerFactory,
    ProductFactory,
    ResinKitFactory,
    SaleFactory,
    SaleLineFactory,
    SavedSurfaceFactory,
    TechniqueFactory,
    TileAnswerFactory,
    TopcoatingFactory,
    UseChangeFactory,
    WeighingFactory,
)
from tests.factories.studio import UserFactory


def one_of_everything(studio):
    """Return a namespace of new rows of a studio that belong together; call it again for more."""
    all_of_it = SimpleNamespace(studio=studio)
    _stock(all_of_it)
    _catalogue(all_of_it)
    _work(all_of_it)
    renew_replacement_costs(studio=studio)
    learn_hand(studio=studio)
    all_of_it.closing = _closed(studio)
    return all_of_it


def refund_all(studio):
    """Let the money of every sale be given back, as the list of refunds has it."""
    days = {"refunded_on": A_DAY, "refund_booked_on": A_DAY}
    studio.sales.update(refunded_at=timezone.now(), **days)


def _closed(studio):
    """Close a month of long before anything was booked; the next one, when called again."""
    before = studio.closed_up_to
    up_to = end_of_month(before + timedelta(days=1)) if before else date(2001, 1, 31)
    return close_months(studio=studio, by=None, up_to=up_to)


def _stock(one):
    studio = one.studio
    one.material = MaterialFactory(studio=studio, density_g_per_ml=D("1.1"), tare_g=D(20))
    one.supplier = SupplierFactory(studio=studio)
    one.pack = PackFactory(studio=studio, supplier=one.supplier, material=one.material)
    receipt = stock.Receipt(material=one.material, quantity=D(100), value=D(5))
    one.entry = stock.receive(studio=studio, by=None, receipts=[receipt])
    one.bottle = studio.bottles.get(movements__entry=one.entry)
    one.count = ShelfCountFactory(studio=studio)
    ShelfCountLineFactory(count=one.count, bottle=one.bottle)
    one.delivery = DeliveryFactory(studio=studio, supplier=one.supplier, entry=one.entry)
    one.order = PurchaseOrderFactory(studio=studio, supplier=one.supplier)
    one.order_line = OrderLineFactory(order=one.order, pack=one.pack)
    # More than is on hand, so that there is something to warn of and to buy.
    one.costing_change = CostingChangeFactory(studio=studio)
    one.known_sheet = KnownSheetFactory(studio=studio)
    one.hold = HoldFactory(studio=studio, material=one.material, quantity=D(250))


def _catalogue(one):
    studio = one.studio
    one.base, one.colour, one.activator = (
        RecipeFactory(studio=studio, role=role) for role in ("base", "colour", "activator")
    )
    for recipe in (one.base, one.colour, one.activator):
        RecipePartFactory(recipe=recipe, material=one.material)
    one.recipe = one.base
    one.batch = _batch(one)
    one.palette = PaletteFactory(studio=studio, base=one.base, activator=one.activator)
    PaletteColourFactory(palette=one.palette, recipe=one.colour)
    one.resin = MaterialFactory(studio=studio, kind="resin", density_g_per_ml=D("1.1"))
    one.hardener = MaterialFactory(studio=studio, kind="hardener", density_g_per_ml=D(1))
    one.kit = ResinKitFactory(studio=studio, resin=one.resin, hardener=one.hardener)
    one.tile = MaterialFactory(studio=studio, kind="surface", unit="each")
    one.box = MaterialFactory(studio=studio, kind="packaging", unit="each")
    for material in (one.resin, one.hardener, one.tile, one.box):
        PackFactory(studio=studio, supplier=one.supplier, material=material)
    one.surface = SavedSurfaceFactory(studio=studio, material=one.tile)
    one.technique = TechniqueFactory(studio=studio, slug=_next_slug(studio))
    one.sealer = MaterialFactory(studio=studio, kind="medium")
    PackFactory(studio=studio, supplier=one.supplier, material=one.sealer)
    one.step = LabourStepFactory(
        technique=one.technique, step="seal", pieces="coated", material=one.sealer, amount=D(2)
    )
    one.product = ProductFactory(
        studio=studio,
        surface=one.surface,
        technique=one.technique,
        palette=one.palette,
        topcoat=one.kit,
        packaging=one.box,
    )
    one.channel = ChannelFactory(studio=studio)
    one.customer = CustomerFactory(studio=studio)
    set_working_days(studio=studio, hours=[D(4)] * 5 + [D(0)] * 2, rack_places=24)
    one.day_off = DayOffFactory(studio=studio)
    one.calendar_link = CalendarLinkFactory(studio=studio)


def _batch(one):
    """Mix a batch from a pigment of its own, since the paint is promised already."""
    pigment = MaterialFactory(studio=one.studio, has_silicone=True)
    receipt = stock.Receipt(material=pigment, quantity=D(50), value=D("2.5"))
    stock.receive(studio=one.studio, by=None, receipts=[receipt])
    recipe = RecipeFactory(studio=one.studio, role="other", keeps_days=7)
    RecipePartFactory(recipe=recipe, material=pigment)
    return mix_batch(studio=one.studio, by=None, recipe=recipe, volume_ml=D(20))


def _gone_on(one):
    """Write down why everything there is went on before its time."""
    names = ("commission", "line", "quote", "product", "pour", "topcoating", "sale", "consignment")
    about = {name: getattr(one, name) for name in names}
    return GoneOnFactory(studio=one.studio, piece_set=one.set, **about)


def _next_slug(studio):
    taken = set(studio.techniques.values_list("slug", flat=True))
    return next((slug for slug in Technique.Slug.values if slug not in taken), "bloom")


def _mixes(one):
    """Return what a base coat was poured of, as it is kept."""
    mix = to_plain(frozen_mix(mix_book(one.studio), one.base.pk))
    return [{"ml": "50.000", "parts": None, "bottle": "", "trace_seconds": "6.0", "mix": mix}]


def _work(one):
    studio = one.studio
    chosen = {"surface": one.surface, "technique": one.technique, "palette": one.palette}
    one.commission = CommissionFactory(studio=studio, customer=one.customer)
    one.commission.events.create(status="enquiry", by=UserFactory())
    one.line = CommissionLineFactory(
        commission=one.commission, topcoat=one.kit, packaging=one.box, **chosen
    )
    one.quote = draft_quote(commission=one.commission, by=None)
    moved = {"moves": "tilt straw", "heat": "torch", "rest_minutes": D(3), "was_covered": False}
    moved["room_c"] = D("21.5")
    one.pour = PourFactory(
        studio=studio, line=one.line, rule_ml=D(52), judged_count=1, **moved, **chosen
    )
    one.line.like_pour = one.pour.number
    one.line.save(update_fields=["like_pour"])
    PourLayerFactory(
        pour=one.pour,
        mixes=_mixes(one),
        took_value=D(0),
        forecast_low_ml=D(40),
        forecast_median_ml=D(48),
        forecast_high_ml=D(60),
        scaled_ml=D(45),
    )
    one.topcoating = TopcoatingFactory(
        studio=studio, pour=one.pour, kit=one.kit, humidity_percent=D(45)
    )
    one.set = PieceSetFactory(studio=studio, line=one.line)
    one.appraisal = AppraisalFactory(studio=studio, material=one.material)
    one.piece = FinishedPieceFactory(
        studio=studio, pour=one.pour, piece_set=one.set, verdict="good"
    )
    one.judgement = JudgementFactory(piece=one.piece)
    one.weighing = WeighingFactory(piece=one.piece)
    one.test_tile = PourFactory(
        studio=studio,
        line=CommissionLineFactory(commission=one.commission, is_test=True, **chosen),
        **chosen,
    )
    FinishedPieceFactory(studio=studio, pour=one.test_tile)
    one.tile_answer = TileAnswerFactory(studio=studio, pour=one.test_tile, note="A bit greener")
    one.pair = PairedTestFactory(studio=studio, **chosen)
    one.sale = SaleFactory(
        studio=studio, channel=one.channel, customer=one.customer, commission=one.commission
    )
    note(studio.pk, A_DAY, pours=[one.pour.pk, one.test_tile.pk], sets=[one.set.pk])
    book_sale(one.sale, [SaleLineFactory(sale=one.sale, piece_set=one.set)], {})
    note(studio.pk, A_DAY, pours=[one.pour.pk], sets=[one.set.pk])
    one.consignment = ConsignmentFactory(studio=studio)
    one.gone_on = _gone_on(one)
    ConsignedSetFactory(
        consignment=one.consignment, piece_set=one.set, outcome="returned", settled_on=A_DAY
    )
    wanted = {"commission": one.commission, "kind": "colours", "caption": "This blue"}
    PictureFactory(studio=studio, pour=None, **wanted)
    PictureFactory(studio=studio, pour=None, piece_set=one.set)
    one.use_change = UseChangeFactory(piece_set=one.set, by=UserFactory())
    PictureFactory(studio=studio, pour=None, piece=one.piece)
    one.picture = PictureFactory(studio=studio, pour=one.pour)
    one.payment = PaymentFactory(studio=studio, commission=one.commission)
    one.invoice = InvoiceFactory(studio=studio, commission=one.commission)
