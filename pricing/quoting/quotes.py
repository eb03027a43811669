"""Quotes: draft, send, accept, decline. Once sent nothing in a quote changes but its status."""

from datetime import timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from pricing.commissions.commission_holds import renew_holds
from pricing.commissions.progress import record
from pricing.costing.asking import Via, ask, totals
from pricing.costing.habits import habits_of
from pricing.costing.price import Offer
from pricing.costing.replacement import replacement_prices
from pricing.costing.shelf_costs import shelf_costs
from pricing.errors import AlreadyAccepted, CommissionClosed, QuoteNotOpen
from pricing.estimating.estimates import estimate_commission
from pricing.models import Channel, Commission, Quote, QuoteLine
from pricing.quoting.freezing import frozen_quote, plain
from pricing.quoting.risks import quote_risk
from pricing.readiness import asking as gate
from pricing.readiness.concerns import before_quoting
from studio.dates import in_full as day
from studio.models import Studio
from studio.money import ZERO, to_payable
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
    markup: Decimal | None = None,
    rush: Decimal = ZERO,
    discount: Decimal = ZERO,
    shipping: Decimal = ZERO,
    channel: Channel | Via | None = Via.USUAL,
    deposit: Decimal | None = None,
) -> Quote:
    """Draft a quote for a commission, in place of its earlier draft; returns it.

    ``margin`` or ``markup``, ``rush``, ``discount`` and ``deposit`` are shares of one, ``shipping``
    is what it costs before tax; the studio's own way of pricing and its deposit stand where none is
    given. The fees of
    the ``channel`` are earned back in the price: of the usual one without saying, of none with
    None. The price rests on what materials cost to replace, the profit that the quote reckons with
    on what they cost on the shelf; both are frozen.

    Raises `NothingOrdered`, `NoPriceKnown`, or `Refused` when margin and fees leave nothing.
    """
    commission = _locked(commission)
    studio = commission.studio
    refuse_strangers(studio, None if isinstance(channel, Via) else channel)
    _refuse_closed(commission)
    estimate = estimate_commission(commission)
    anew = replacement_prices(studio, estimate.needs)
    habits = habits_of(studio)
    shelf = shelf_costs(studio, estimate.lines, work=commission.work, habits=habits, anew=anew)
    asking = ask(
        studio,
        estimate.lines,
        anew,
        channel=channel,
        margin=margin,
        markup=markup,
        rush=rush,
        discount=discount,
        shipping=shipping,
        habits=habits,
    )
    quote_offer = asking.offer.at_cost(*totals(shelf.costs))
    share = studio.deposit if deposit is None else deposit
    deposit = to_payable(quote_offer.gross * share, studio.currency)
    commission.quotes.filter(status=Status.DRAFT).delete()
    quote = Quote.objects.create(
        studio=studio,
        commission=commission,
        created_by=by,
        currency=studio.currency,
        net=quote_offer.net,
        tax=quote_offer.tax,
        gross=quote_offer.gross,
        deposit=deposit,
        frozen=frozen_quote(
            commission=commission,
            estimate=estimate,
            prices=shelf.prices,
            costs=shelf.costs,
            offer=quote_offer,
            asking=asking,
            deposit=deposit,
            risk=quote_risk(shelf.costs, quote_offer),
        ),
    )
    _write_lines(quote, quote_offer)
    return quote


@transaction.atomic
def send_quote(
    *, quote: Quote, by: User | None, valid_days: int | None = None, reason: str = ""
) -> Quote:
    """Number a draft and freeze it; an earlier quote for the same commission is superseded.

    The first quote of a commission takes the studio's next number, a later one the same number and
    the next version. ``reason`` is why it is offered though something of it is not fit for what it
    is for, see `readiness.asking`.
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
    against = before_quoting(commission)
    gate.ask(
        gate.Act.QUOTE, against, reason, studio=studio, by=by, before=[commission], quote=quote
    )
    return quote


@transaction.atomic
def accept_quote(
    *, quote: Quote, by: User | None = None, name: str = "", note: str = "", by_link: bool = False
) -> Quote:
    """Accept a sent quote: the commission goes ahead and stock is held for it.

    Refused when the quote is not the one open now, or has run out, or is in another currency than
    money that has moved for the commission already; of two people at once the second is refused.
    """
    commission, quote = _lock_open(quote)
    if commission.quotes.filter(status=Status.ACCEPTED).exists():
        raise AlreadyAccepted(f"{commission} already has an accepted quote.")
    _refuse_other_money(commission, quote)
    _answer(quote, Status.ACCEPTED, by, name, note, by_link)
    record(commission, Commission.Status.ACCEPTED, by, f"{quote} accepted by {quote.answered_by}")
    renew_holds(commission)
    return quote


def _refuse_other_money(commission: Commission, quote: Quote) -> None:
    """Refuse a second currency: what was agreed less what was paid must be of one."""
    kept = commission.currency
    has_moved = commission.payments.exists() or commission.sales.exists()
    if has_moved and kept != quote.currency:
        raise QuoteNotOpen(
            f"{commission} was sold or paid for in {kept}, and {quote} is in {quote.currency}. "
            "Open a commission of its own for it."
        )


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
    """Lock a commission, so that what decides over its quotes happens one after the other."""
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


def _write_lines(quote: Quote, quote_offer: Offer) -> None:
    rows = [
        (line["description"], line["quantity"], line["unit_price"], line["amount"])
        for line in quote.frozen["lines"]
    ]
    extra = (("Minimum charge", quote_offer.supplement), ("Shipping", quote_offer.shipping))
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
