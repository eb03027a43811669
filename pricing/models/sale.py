"""Sets, the channels they are sold through, and sales."""

from decimal import Decimal
from typing import TYPE_CHECKING, Self, TypeAlias, TypedDict

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Exists, F, FilteredRelation, OuterRef, Q

from inventory.models import Entry
from pricing.models.commission import Commission, CommissionLine, Customer
from pricing.models.cost import Costed
from pricing.models.fields import InCurrency, Worked, fraction_field, money_field
from pricing.models.shapes import validate_booked
from pricing.models.use import use_field
from studio.modelfields import DayField, JSONField, LineField, MomentField, WholeField
from studio.models import Studio, Tracked, Tracking
from studio.money import ZERO
from studio.validators import validate_currency


class Channel(Tracked):
    """A way of selling, and what it takes for itself."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="channels")
    name = LineField(max_length=80)
    percent_fee = fraction_field(
        "share of the price", default=ZERO, highest="0.9", help_text="0.065 for 6.5 %."
    )
    fixed_fee = money_field("per sale", default=ZERO, validators=[MinValueValidator(ZERO)])
    listing_fee = money_field("per item", default=ZERO, validators=[MinValueValidator(ZERO)])
    fee_on_shipping = models.BooleanField(
        default=False, help_text="The share is taken from what is charged for shipping too."
    )
    is_consignment = models.BooleanField(
        "sells on consignment",
        default=False,
        help_text="A shop that keeps your sets until they sell, and its share of the price.",
    )
    archived_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["studio", "name"], name="channel_name_once")]

    def __str__(self) -> str:
        return self.name

    @property
    def is_free(self) -> bool:
        """Whether it takes no fees, as what is sold straight from the studio."""
        return not (self.percent_fee or self.fixed_fee or self.listing_fee or self.is_consignment)


if TYPE_CHECKING:
    from django_stubs_ext import WithAnnotations

    SetSold: TypeAlias = "WithAnnotations[PieceSet, Sold]"
    SetsSold: TypeAlias = "PieceSetQuerySet[SetSold]"


class Sold(TypedDict):
    """What is found beside a set, and where it stands if it is at a shop."""

    is_sold: bool
    shop: str | None


class PieceSetQuerySet(Tracking, models.QuerySet["PieceSet"]):
    def packed(self) -> Self:
        """Sets that exist: neither unpacked again nor written off."""
        return self.filter(unpacked_at=None, written_off_at=None)

    def unsold(self) -> "SetsSold":
        """Packed sets that nobody has bought, in the studio or at a shop."""
        return self.with_sold().packed().filter(is_sold=False)

    def for_sale(self) -> "SetsSold":
        """Packed sets that nobody has bought and that are in the studio."""
        return self.unsold().filter(shop=None)

    def with_sold(self) -> "SetsSold":
        """Annotate ``is_sold``, whether a sale that stands has the set, and where it is sold from.

        ``shop`` is the name of the shop that it stands at on consignment, or None.
        """
        live = SaleLine.objects.filter(piece_set=OuterRef("pk"), is_live=True)
        out = FilteredRelation("consigned", condition=Q(consigned__outcome="out"))
        return self.annotate(
            out=out, is_sold=Exists(live), shop=F("out__consignment__channel__name")
        )


class PieceSet(Worked, Costed, Tracked):
    """Finished pieces packed to be sold together: a set of coasters, or one canvas."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="sets")
    number = WholeField()
    name = LineField(max_length=200)
    line = models.ForeignKey(
        CommissionLine, on_delete=models.PROTECT, null=True, blank=True, related_name="sets"
    )
    made_on = DayField()
    entry = models.OneToOneField(
        Entry, on_delete=models.PROTECT, null=True, blank=True, related_name="piece_set"
    )
    use = use_field()
    unpacked_at = MomentField(null=True, blank=True)
    written_off_at = MomentField(
        null=True, blank=True, help_text="Lost or broken, or refunded without coming back."
    )

    objects = PieceSetQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["-number"]
        constraints = [models.UniqueConstraint(fields=["studio", "number"], name="set_number_once")]

    def __str__(self) -> str:
        return f"{self.label}: {self.name}"

    @property
    def seconds(self) -> int:
        """How many of its pieces are sellable as seconds only."""
        return sum(piece.verdict == "second" for piece in self.pieces.all())

    @property
    def label(self) -> str:
        """“Set 12”, where its name stands beside it or is not needed."""
        return f"Set {self.number}"


class SaleQuerySet(Tracking, models.QuerySet["Sale"]):
    def with_lines(self) -> Self:
        """Fetch the lines of each sale along with it, each with its set, in one question.

        The sets are joined: more than a thousand of them, fetched on their own, are more
        alternatives than SQLite takes.
        """
        lines = SaleLine.objects.select_related("piece_set")
        return self.prefetch_related(models.Prefetch("lines", lines))


class Sale(InCurrency, Tracked):
    """Sets sold together through one channel, in the currency and by the tax rule of that day."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="sales")
    number = WholeField()
    channel = models.ForeignKey(Channel, on_delete=models.PROTECT, related_name="sales")
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="sales"
    )
    commission = models.ForeignKey(
        Commission, on_delete=models.PROTECT, null=True, blank=True, related_name="sales"
    )
    sold_on = DayField()
    booked_on = DayField(help_text="The day that it counts on in the books.")
    currency = LineField(max_length=3, validators=[validate_currency])
    shipping_charged = money_field(default=ZERO, validators=[MinValueValidator(ZERO)])
    shipping_paid = money_field(default=ZERO, validators=[MinValueValidator(ZERO)])
    fees = money_field(default=ZERO)
    tax_rate = fraction_field(default=ZERO)
    tax_inclusive = models.BooleanField(
        "prices shown with tax", help_text="As the studio showed its prices then."
    )
    refunded_at = MomentField(null=True, blank=True)
    refunded_on = DayField("money given back on", null=True, blank=True)
    refund_booked_on = DayField("refund booked on", null=True, blank=True)
    refund_note = LineField(max_length=200, blank=True)
    fees_kept = money_field(
        "fees not given back", default=ZERO, validators=[MinValueValidator(ZERO)]
    )

    objects = SaleQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "number"], name="sale_number_once"),
            models.CheckConstraint(
                condition=Q(refunded_at=None, refunded_on=None, refund_booked_on=None)
                | Q(
                    refunded_at__isnull=False,
                    refunded_on__isnull=False,
                    refund_booked_on__isnull=False,
                ),
                name="sale_refunded_on_a_day",
            ),
        ]

    def __str__(self) -> str:
        return f"Sale {self.number}"

    @property
    def goods(self) -> Decimal:
        """What was paid for the sets, tax included."""
        return sum((line.price for line in self.lines.all()), ZERO)


class SaleLine(Tracked):
    """One set and the price paid for it, tax included."""

    part_of = "sale"

    sale = models.ForeignKey(Sale, on_delete=models.CASCADE, related_name="lines")
    piece_set = models.ForeignKey(PieceSet, on_delete=models.PROTECT, related_name="sale_lines")
    price = money_field(validators=[MinValueValidator(ZERO)])
    is_live = models.BooleanField(default=True, help_text="Cleared when the sale is refunded.")
    booked = JSONField(
        null=True,
        blank=True,
        validators=[validate_booked],
        help_text="What the set was when it was refunded, so that its sale stays in the profit as "
        "it was. Not known of sales refunded before this was kept.",
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece_set"], condition=Q(is_live=True), name="set_sold_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.piece_set} in {self.sale}"
