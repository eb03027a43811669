"""What of a material is promised and what is to come, added up beside it."""

from typing import Any, TypeVar

from django.db.models import Expression, F, OuterRef, QuerySet, Subquery

from inventory.models.hold import Hold
from inventory.models.purchase import OrderLine, PurchaseOrder
from inventory.models.supply import Material
from studio.amounts import Minus, OrZero, Plus, Times, Total

Rows = TypeVar("Rows", bound=QuerySet[Material])


def with_promises(materials: Rows) -> Rows:
    """Annotate ``held``, ``on_order``, ``available`` and ``projected``, in its own unit."""
    holds = Hold.objects.filter(material=OuterRef("pk"), released_at=None)
    coming = OrderLine.objects.filter(
        pack__material=OuterRef("pk"), order__status__in=PurchaseOrder.OPEN
    )
    to_come = Times(F("count") - F("received_count"), "pack__size")
    return materials.annotate(
        held=_total(holds, "material", Minus("quantity", "used")),
        on_order=_total(coming, "pack__material", to_come),
    ).annotate(
        available=Minus("on_hand", "held"),
        projected=Minus(Plus("on_hand", "on_order"), "held"),
    )


def _total(queryset: QuerySet[Any], material: str, amount: Expression) -> OrZero:
    """Add an amount up over a correlated queryset that names its ``material`` so."""
    rows = queryset.order_by().values(material).annotate(total=Total(amount))
    return OrZero(Subquery(rows.values("total")))
