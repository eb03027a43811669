"""Money: deposits, payments, given back, struck; invoices and credit notes."""

from decimal import Decimal, InvalidOperation

from studio.closing import months_to_close
from studio.models import Studio
from tests.living import words
from tests.living.acts.registry import act


def _owing(story):
    return story.studio.commissions.filter(
        status__in=("accepted", "in_work", "ready", "delivered", "paid")
    )


@act(5, lambda story: _owing(story).exists())
def pay(story):
    """Pay what the page fills in itself, or a part of it."""
    bench = story.bench
    commission = story.any(_owing(story))
    page = f"/commissions/{commission.number}/payment/"
    shown = bench.open(page)
    form = shown.page.main_form()
    if form is None or "amount" not in form:
        return
    offered = form.fields["amount"].values[0]
    changes = {"how": story.dice.choice(form.fields["how"].offered())}
    if offered and story.chance(0.4):
        changes["amount"] = f"{Decimal(offered) * story.dice.choice((1, 1, 3)) / 3:.0f}"
    answer = bench.submit(shown, form, changes)
    if offered and "amount" not in changes and answer.status == 422:
        story.judge.find(
            f"the amount that the page filled in itself ({offered}) is refused: {answer.page.told}",
            "POST",
            page,
            changes,
        )
    _note(story, commission, changes.get("amount", offered), answer)
    story.maker.open("/owed/")
    story.maker.open("/payments/")


@act(1, lambda story: _owing(story).exists())
def give_money_back(story):
    commission = story.any(_owing(story))
    asked = {"amount": story.dice.choice(("1", "5", "10000")), "note": "Chipped corner"}
    answer = story.bench.fill_in(f"/commissions/{commission.number}/give-back/", asked)
    _note(story, commission, f"-{asked['amount']}", answer)


@act(1, lambda story: _owing(story).exists())
def pay_by_a_program(story):
    commission = story.any(_owing(story))
    body = {"amount": story.dice.choice(("1", "2", "0", "-1", "99999"))}
    answer = story.api.send(f"commissions/{commission.number}/payments/", body, twice=True)
    _note(story, commission, body["amount"], answer)


def _months(story):
    return months_to_close(Studio.objects.get(pk=story.studio.pk))


@act(1, _months)
def close_a_month(story):
    """Close what is over; what comes late is booked later from now on."""
    page = "/profit/closing/"
    story.owner.fill_in(page, {"up_to": f"{story.dice.choice(_months(story))}"})
    story.owner.open(page)
    last = story.studio.closings.standing().first()
    if last and story.chance(0.3):
        story.owner.fill_in(f"{page}{last.pk}/reopen/", {"why": "An invoice was forgotten"})
    story.owner.open("/profit/")


@act(1, lambda story: story.studio.payments.exists())
def strike_a_payment(story):
    payment = story.any(story.studio.payments.all())
    why = {"why": story.dice.choice(words.REASONS)}
    answer = story.bench.fill_in(f"/payments/{payment.number}/strike/", why)
    if answer and answer.is_done:
        story.ledger.paid[payment.commission.number] -= payment.amount


@act(2, lambda story: _owing(story).exists())
def invoice(story):
    commission = story.any(_owing(story))
    story.owner.fill_in(f"/commissions/{commission.number}/invoice/")
    story.maker.open("/invoices/")


@act(0.7, lambda story: story.studio.invoices.exists())
def credit_an_invoice(story):
    found = story.any(story.studio.invoices.all())
    why = {"why": story.dice.choice(words.REASONS)}
    story.owner.fill_in(f"/invoices/{found.number}/credit/", why)


def _note(story, commission, amount, answer):
    """Note in the story's own ledger what was paid, if it was."""
    if answer and answer.is_done:
        try:
            story.ledger.paid[commission.number] += Decimal(amount)
        except InvalidOperation:
            story.ledger.unsure.add(commission.number)
