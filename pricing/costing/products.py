"""Products written down and changed: what a studio makes again and again."""

from collections.abc import Collection

from django.contrib.auth.models import User
from django.db import transaction

from pricing.estimating.fitting import what_fits
from pricing.models import Product
from pricing.readiness.asking import Act, ask
from pricing.readiness.concerns import before_offering
from studio.rows import keep_row


@transaction.atomic
def save_product(
    *, product: Product, by: User | None, names: Collection[str] | None = None, reason: str = ""
) -> Product:
    """Write a product down, or what of it was changed; returns it.

    Parameters
    ----------
    product : Product
        Its fields are set and checked.
    names : collection of str, optional
        The fields that were changed; without them, all
    reason : str
        Why it is offered though it is not fit for what it is for, see `readiness.asking`; nobody
        is asked anew where surface, use and topcoat stay as they were

    Raises
    ------
    ReasonNeeded
        If it is not fit and no reason is given.
    TakenError
        If somebody else wrote a product of that name down a moment before.
    """
    kept = Product.objects.select_for_update().filter(pk=product.pk).first()
    before = what_fits(kept.line()) if kept else None
    product = keep_row(row=product, names=names)
    if what_fits(product.line()) != before:
        against, told = before_offering(product), [product]
        ask(Act.PLAN, against, reason, studio=product.studio, by=by, before=told, product=product)
    return product
