"""What a commission lacks: its needs beside the shelf."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Material, with_promises
from inventory.stock import holds
from pricing.commissions.commission_holds import needs_left
from pricing.estimating.estimates import estimate_commission
from pricing.models import Commission
from studio.money import ZERO

Status = Commission.Status


@dataclass(frozen=True)
class StockLine:
    """One material a commission needs, in the material's own unit.

    ``needed`` is what is to be mixed and used, ``held_for_others`` how much of what is on hand
    other work counts on, ``missing`` what must be bought, ``on_order`` what is coming.
    """

    material: Material
    needed: Decimal
    on_hand: Decimal
    held_for_others: Decimal
    on_order: Decimal

    @property
    def available(self) -> Decimal:
        """On hand and not held for others."""
        return self.on_hand - self.held_for_others

    @property
    def missing(self) -> Decimal:
        """What is needed beyond what is available."""
        return max(self.needed - self.available, ZERO)


@dataclass(frozen=True)
class StockCheck:
    """Every material of a commission beside what is there for it, what is short first."""

    lines: tuple[StockLine, ...]

    @property
    def short(self) -> tuple[StockLine, ...]:
        """The lines with something missing."""
        return tuple(line for line in self.lines if line.missing)


def stock_check(
    commission: Commission, needs: Mapping[Material, Decimal] | None = None
) -> StockCheck:
    """Compare what a commission needs with the shelf; before acceptance and after.

    ``needs`` ({material: quantity}) is worked out when left out: the estimate of a commission that
    is not accepted, else what is left to do.
    """
    if needs is None:
        needs = needs_now(commission)
    quantities = {
        material.pk: quantity for material, quantity in needs.items() if material.is_stocked
    }
    materials = with_promises(Material.objects.all()).in_bulk(quantities)
    others: defaultdict[int, Decimal] = defaultdict(Decimal)
    for hold, covered in holds.coverage(commission.studio, list(materials.values())).items():
        if hold.work_id != commission.work_id:
            others[hold.material_id] += covered
    lines = [
        StockLine(
            material=material,
            needed=quantities[key],
            on_hand=material.on_hand,
            held_for_others=others[key],
            on_order=material.on_order,
        )
        for key, material in materials.items()
    ]
    return StockCheck(tuple(sorted(lines, key=lambda one: (not one.missing, one.material.name))))


def needs_now(commission: Commission) -> dict[Material, Decimal]:
    """Return {material: quantity} still to be mixed or used for a commission."""
    if commission.status in (Status.ENQUIRY, Status.QUOTED):
        estimated = estimate_commission(commission)
        return {material: need.to_mix for material, need in estimated.needs.items()}
    return needs_left(commission)
