"""Quotes: draft, send, accept, decline. Once sent nothing in a quote changes but its status."""

from datetime import timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.words import day
from pricing.commissions.progress import record
from pricing.commissions.promises import renew_promises
from pricing.costing.costs import line_costs
from pricing.costing.price import Offer, PriceError, Terms, offer
from pricing.costing.worth import prices
from pricing.errors import AlreadyAccepted, CommissionClosed, QuoteNotOpen
from pricing.estimating.estimates import estimate_commission
from pricing.models import Channel, Commission, Quote, QuoteLine
from pricing.quoting.freezing import frozen_quote, plain
from pricing.quoting.risks import quote_risk
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO, minor_unit, to_payable
from studio.numbering import next_number
from studio.rows import refuse_strangers
from studio.text import shortened

Status = Quote.Status
OPEN = (Commission.Status.ENQUIRY, Commission.Status.QUOTED)


@transaction.atomic
def draft_quote(
    *,
    commission: Commission,
    by: User | None,
    margin: Decimal | None = None,
    rush: Decimal = ZERO,
    discount: Decimal = ZERO,
    shipping: Decimal = ZERO,
    channel: Channel | None = None,
    deposit: Decimal | None = None,
) -> Quote:
    """Work out a quote for a commission, in place of its earlier draft.

    ``margin``, ``rush``, ``discount`` and ``deposit`` are shares of one, ``shipping`` is what it
    costs before tax; the studio's own margin and deposit stand where none is given. With a
    ``channel`` its fees are earned back in the price.

    Raises `NothingOrdered`, `NoPriceKnown`, or `Refused` when margin and fees leave nothing.
    """
    commission = _locked(commission)
    studio = commission.studio
    refuse_strangers(studio, channel)
    _refuse_closed(commission)
    estimate = estimate_commission(commission)
    costed = prices(studio, {material: need.median for material, need in estimate.needs.items()})
    costs = line_costs(studio, estimate, costed)
    terms = _terms(studio, margin, rush, discount, shipping, channel)
    with in_words(PriceError):
        made = offer(
            [(one.line.quantity, one.cost.total, one.cost.cautious_total) for one in costs], terms
        )
    share = studio.deposit if deposit is None else deposit
    deposit = to_payable(made.gross * share, studio.currency)
    commission.quotes.filter(status=Status.DRAFT).delete()
    quote = Quote.objects.create(
        studio=studio,
        commission=commission,
        created_by=by,
        currency=studio.currency,
        net=made.net,
        tax=made.tax,
        gross=made.gross,
        deposit=deposit,
        frozen=frozen_quote(
            commission=commission,
            estimate=estimate,
            prices=costed,
            costs=costs,
            offer=made,
            terms=terms,
            channel=channel,
            deposit=deposit,
            risk=quote_risk(costs, made),
        ),
    )
    _write_lines(quote, made)
    return quote


@transaction.atomic
def send_quote(*, quote: Quote, by: User | None, valid_days: int | None = None) -> Quote:
    """Number a draft and freeze it; an earlier quote for the same commission is superseded.

    The first quote of a commission takes the studio's next number, a later one the same number and
    the next version.
    """
    commission = _locked(quote.commission)
    draft = Quote.objects.select_for_update().filter(pk=quote.pk).first()
    if draft is None:
        raise QuoteNotOpen("This draft is gone: another took its place, or the work is off.")
    quote = draft
    if quote.status != Status.DRAFT:
        raise QuoteNotOpen(f"{quote} was sent already. Draft a new one to change it.")
    _refuse_closed(commission)
    studio = commission.studio
    earlier = commission.quotes.exclude(number=None).order_by("-version").first()
    commission.quotes.filter(status__in=Quote.OPEN).update(status=Status.SUPERSEDED)
    quote.number = earlier.number if earlier else next_number(studio, "quote")
    quote.version = earlier.version + 1 if earlier else 1
    quote.status, quote.sent_at = Status.SENT, timezone.now()
    quote.valid_until = studio.today() + timedelta(days=valid_days or studio.quote_days)
    quote.frozen["paper"] = {
        "label": quote.label,
        "sent_on": studio.today().isoformat(),
        "valid_until": quote.valid_until.isoformat(),
    }
    if commission.promised_on:
        quote.frozen["paper"]["ready_by"] = commission.promised_on.isoformat()
    quote.save()
    record(commission, Commission.Status.QUOTED, by, str(quote))
    return quote


@transaction.atomic
def accept_quote(
    *, quote: Quote, by: User | None = None, name: str = "", note: str = "", by_link: bool = False
) -> Quote:
    """Accept a sent quote: the commission goes ahead and stock is held for it.

    Refused when the quote is not the one open now, or has run out; of two people at once the second
    is refused.
    """
    commission, quote = _lock_open(quote)
    if commission.quotes.filter(status=Status.ACCEPTED).exists():
        raise AlreadyAccepted(f"{commission} already has an accepted quote.")
    _answer(quote, Status.ACCEPTED, by, name, note, by_link)
    record(commission, Commission.Status.ACCEPTED, by, f"{quote} accepted by {quote.answered_by}")
    renew_promises(commission)
    return quote


@transaction.atomic
def decline_quote(
    *, quote: Quote, by: User | None = None, name: str = "", note: str = "", by_link: bool = False
) -> Quote:
    """Decline a sent quote, with a reason if there is one; the commission is declined with it."""
    commission, quote = _lock_open(quote)
    _answer(quote, Status.DECLINED, by, name, note, by_link)
    record(commission, Commission.Status.DECLINED, by, note or f"{quote} declined")
    return quote


@transaction.atomic
def view_quote(*, quote: Quote) -> None:
    """Note that the customer has seen a quote, the first time they do."""
    quote = Quote.objects.select_for_update().get(pk=quote.pk)
    if quote.status == Status.SENT:
        quote.status, quote.viewed_at = Status.VIEWED, timezone.now()
        quote.save(update_fields=["status", "viewed_at"])


@transaction.atomic
def expire_quotes(*, studio: Studio) -> int:
    """Mark the sent quotes whose day has passed; returns how many."""
    late = studio.quotes.filter(status__in=Quote.OPEN, valid_until__lt=studio.today())
    return late.update(status=Status.EXPIRED)


def expire_all_quotes() -> str:
    """Mark the quotes of every studio whose day has passed; returns a sentence, if any."""
    count = sum(expire_quotes(studio=studio) for studio in Studio.objects.filter(restoring=None))
    return f"Marked {count} quote{'' if count == 1 else 's'} as expired." if count else ""


def _locked(commission: Commission) -> Commission:
    """Lock a commission: whatever decides over its quotes queues here."""
    Commission.objects.select_for_update().get(pk=commission.pk)
    return Commission.objects.select_related("studio", "customer").get(pk=commission.pk)


def _lock_open(quote: Quote) -> tuple[Commission, Quote]:
    commission = _locked(quote.commission)
    quote = Quote.objects.select_for_update().get(pk=quote.pk)
    if not quote.is_open:
        raise QuoteNotOpen(
            f"{quote} is {quote.get_status_display().lower()}, so it cannot be answered."
        )
    until = quote.valid_until
    if until is not None and until < commission.studio.today():
        raise QuoteNotOpen(f"{quote} was valid until {day(until)}. Ask for a new one.")
    return commission, quote


def _refuse_closed(commission: Commission) -> None:
    if commission.status not in OPEN:
        status = commission.get_status_display().lower()
        raise CommissionClosed(f"{commission} is {status}, so it is not quoted any more.")


def _answer(
    quote: Quote, status: str, by: User | None, name: str, note: str, by_link: bool
) -> None:
    quote.status, quote.answered_at = status, timezone.now()
    who = by.get_full_name() or by.get_username() if by else ""
    quote.answered_by = name or shortened(who, 120)
    quote.answer_note = note
    quote.answered_by_link = by_link
    quote.save(
        update_fields=["status", "answered_at", "answered_by", "answer_note", "answered_by_link"]
    )


def _terms(
    studio: Studio,
    margin: Decimal | None,
    rush: Decimal,
    discount: Decimal,
    shipping: Decimal,
    channel: Channel | None,
) -> Terms:
    return Terms(
        margin=studio.margin if margin is None else margin,
        tax_rate=studio.tax_rate,
        tax_inclusive=studio.tax_inclusive,
        rounding_step=studio.rounding_step,
        minor_unit=minor_unit(studio.currency),
        minimum_charge=studio.minimum_charge,
        rush=rush,
        discount=discount,
        percent_fee=channel.percent_fee if channel else ZERO,
        fixed_fee=channel.fixed_fee if channel else ZERO,
        listing_fee=channel.listing_fee if channel else ZERO,
        fee_on_shipping=bool(channel and channel.fee_on_shipping),
        shipping=to_payable(shipping, studio.currency),
    )


def _write_lines(quote: Quote, made: Offer) -> None:
    rows = [
        (line["description"], line["quantity"], line["unit_price"], line["amount"])
        for line in quote.frozen["lines"]
    ]
    extra = (("Minimum charge", made.supplement), ("Shipping", made.shipping))
    rows += [(what, 1, plain(amount), plain(amount)) for what, amount in extra if amount]
    QuoteLine.objects.bulk_create(
        QuoteLine(
            quote=quote,
            position=place,
            description=shortened(description, 300),
            quantity=quantity,
            unit_price=unit_price,
            amount=amount,
        )
        for place, (description, quantity, unit_price, amount) in enumerate(rows)
    )
