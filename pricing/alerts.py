"""Materials that cost more than a quote reckoned with, while it can still be heeded."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.urls import reverse

from inventory.buying.alerts import Alert, Kind
from inventory.models import Material
from pricing.commissions.commission_holds import HELD_IN
from pricing.costing.worth import PriceBook
from pricing.models import Pour, Quote
from studio.models import Studio
from studio.money import format_money, minor_unit

# Share by which a price has risen before it is worth a word: below it, shares of shipping and whole
# packs move the price of a millilitre from one delivery to the next. Common practice, no source.
LEAST_RISE = Decimal("0.05")


PRICE_RISEN = "price_risen"
# A dearer material stops no work, so it stands after all that does.
KINDS = {PRICE_RISEN: Kind("Price risen", "info")}


@dataclass(frozen=True)
class PriceAlert(Alert):
    """A material that costs more than some work reckoned with.

    ``rise`` is by what share of its price, [-], and ``extra_cost`` what that takes from the profit,
    [currency].
    """

    rise: Decimal | None = None
    extra_cost: Decimal | None = None

    @property
    def title(self) -> str:
        """The alert in a few words."""
        return f"{self.material.name} costs more than {self.work} reckoned with"


@dataclass(frozen=True)
class Rise:
    """One material of a quote that costs more now: prices of one mL, g or item, [currency].

    ``extra_cost`` is what it adds to the cost of the work, and so takes from its profit; ``profit``
    is what the quote reckoned with, [currency].
    """

    quote: Quote
    material: Material
    then: Decimal
    now: Decimal
    extra_cost: Decimal
    profit: Decimal

    @property
    def rise(self) -> Decimal:
        """By what share the price has risen, [-]."""
        return self.now / self.then - 1


def price_alerts(studio: Studio) -> list[Alert]:
    """Return an alert for each material that makes a quote earn less, the dearest first.

    Asked of quotes in the studio's currency that the customer can still accept, and of accepted
    ones of which nothing is poured yet. What a quote earns was forecast from the shelf, so its
    prices are held against those of the shelf; a price counts from a rise of 5 % that comes to one
    minor unit or more.
    """
    return [_alert(studio, rise) for rise in rises(studio)]


def rises(studio: Studio) -> list[Rise]:
    """Return the `Rise` of every material and quote, in seven queries, or one without quotes."""
    quotes = list(_to_heed(studio))
    if not quotes:
        return []
    keys = {row["material_id"] for quote in quotes for row in quote.frozen["prices"]}
    materials = studio.materials.in_bulk([key for key in keys if key])
    book = PriceBook(studio, materials.values())
    all_rises = [rise for quote in quotes for rise in _rises(quote, materials, book)]
    least = minor_unit(studio.currency)
    return [one for one in all_rises if one.rise >= LEAST_RISE and one.extra_cost >= least]


def _to_heed(studio: Studio) -> QuerySet[Quote]:
    poured = Pour.objects.standing().filter(
        line__commission=OuterRef("commission"), line__is_test=False
    )
    agreed = Q(status=Quote.Status.ACCEPTED, commission__status__in=HELD_IN) & ~Exists(poured)
    still_open = Q(status__in=Quote.OPEN, valid_until__gte=studio.today())
    rows = studio.quotes.filter(agreed | still_open).filter(frozen__has_key="prices")
    rows = rows.filter(currency=studio.currency)  # prices in another say nothing of it
    return rows.select_related("commission").order_by("number", "version")


def _rises(quote: Quote, materials: Mapping[int, Material], book: PriceBook) -> Iterator[Rise]:
    makes, book = _made_for_one_good(quote), book.of(quote.commission.work_id)
    for row in quote.frozen["prices"]:
        material = materials.get(row["material_id"])
        then, quantity = Decimal(row["unit_price"]), Decimal(row["quantity"])
        if material is None or not then or not quantity:
            continue
        price = book.price(material, quantity)
        if price is None:
            continue
        # What was frozen before it was kept by itself is made up to what was poured in all.
        in_all = quantity * makes[material.pk]
        if "again" in row:
            in_all = quantity + Decimal(row["again"])
        extra = (price.unit_price - then) * in_all
        profit = Decimal(quote.frozen["totals"]["profit"])
        yield Rise(quote, material, then, price.unit_price, extra, profit)


def _made_for_one_good(quote: Quote) -> defaultdict[int, Decimal]:
    """Return, by material, how often the quote pays for it: pieces that fail take it again.

    What is poured is divided by the share that is fit to sell, what is coated by the share of
    topcoats that come out well, and packaging is not; where a material stands on several lines, by
    what each needs of it.
    """
    once: defaultdict[int, Decimal] = defaultdict(Decimal)
    in_all: defaultdict[int, Decimal] = defaultdict(Decimal)
    for line in quote.frozen["lines"]:
        # What was frozen before the two were told apart made both up to the same share.
        rate = line["success_rate"]
        rates = {"pour": rate, "coat": line.get("coat_success", rate)}
        for stage, needs in line["needs"].items():
            times = 1 / Decimal(rates.get(stage, 1))
            for key, amount in needs:
                once[key] += Decimal(amount)
                in_all[key] += Decimal(amount) * times
    return defaultdict(
        lambda: Decimal(1), {key: in_all[key] / amount for key, amount in once.items() if amount}
    )


def _alert(studio: Studio, one: Rise) -> PriceAlert:
    label = f"{one.quote} ({one.quote.commission.title})"

    def money(amount: Decimal) -> str:
        return format_money(amount, studio.currency, studio.locale)

    left = one.profit - one.extra_cost
    after = f"{money(left)} is left" if left >= 0 else f"it loses {money(-left)}"
    return PriceAlert(
        PRICE_RISEN,
        one.material,
        f"It costs {one.rise:.0%} more than was reckoned with. That takes {money(one.extra_cost)} "
        f"from the profit of {money(one.profit)}, so {after}.",
        rank=(5, -one.extra_cost, one.quote.pk),
        work=label,
        work_url=reverse("quote", args=[one.quote.pk]),
        rise=one.rise,
        extra_cost=one.extra_cost,
        severity=1 if left >= 0 else 2,
    )
