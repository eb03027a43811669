"""Stock put on a shelf for a test, through the services, and what it then holds."""

from decimal import Decimal

from inventory.models import Bottle, Material
from inventory.stock import ledger as stock
from inventory.stock.costing import Scraped
from tests.factories.inventory import MaterialFactory

D = Decimal


def receive(material, *bottles, pack=None, **options):
    """Receive (quantity, value) bottles of a material, of a pack if given, and return them."""
    entry = stock.receive(
        studio=material.studio,
        by=None,
        receipts=[
            stock.Receipt(material, D(quantity), D(value), pack=pack) for quantity, value in bottles
        ],
        **options,
    )
    return [move.bottle for move in entry.movements.exclude(kind="respread")]


def use(material, quantity, **options):
    """Use an amount of one material."""
    return stock.use(studio=material.studio, by=None, amounts={material: D(quantity)}, **options)


def keep_run_off(pot, quantity, took, *, replaces=None, **options):
    """Keep run-off in a pot: all of a layer that took so much value off the shelf; the bottle."""
    quantity, paint = D(quantity), MaterialFactory(studio=pot.studio)
    receive(paint, (quantity, took))
    kept = stock.StockMove(
        "reclaim",
        pot,
        quantity,
        value=replaces,
        new_bottle=stock.Receipt(pot, quantity, None),
        run_off={"base": Scraped(quantity, quantity)},
    )
    used = stock.StockMove("use", paint, -quantity, layers={"base": quantity})
    entry = stock.post(studio=pot.studio, by=None, moves=[used, kept], **options)
    return entry.movements.get(kind="reclaim").bottle


def shelf(thing):
    """Return what a bottle or a material holds now, and what that is worth."""
    if isinstance(thing, Bottle):
        return Bottle.objects.values_list("remaining", "value").get(pk=thing.pk)
    return Material.objects.values_list("on_hand", "value").get(pk=thing.pk)
