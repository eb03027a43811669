"""Archives that an older version wrote, read as those of today."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from studio.transfer import Older
from studio.transfer.files import Files
from studio.transfer.older import Cells
from studio.transfer.tables import rows
from studio.transfer.writing import SETTINGS_FILE

ENTRIES = "inventory/entries.csv"
WORKS, COMMISSIONS = "inventory/works.csv", "pricing/commissions.csv"
SALES, PAYMENTS = "pricing/sales.csv", "pricing/payments.csv"
CONSIGNMENTS = "pricing/consignments.csv"
PIECES, POURS = "pricing/finished-pieces.csv", "pricing/pours.csv"
# Up to 0.2, these carried when a row was changed, and it was not read.
CLOCKS = {"pricing/pours.csv": {"changed_at"}, "pricing/surfaces.csv": {"changed_at"}}
# Up to 0.25, the least heat limit of its resins stood with a set, also where others had none.
GONE = CLOCKS | {"pricing/piece-sets.csv": {"heat_limit_c"}}
# Up to 0.1, what a row was for stood in it as a text, the key of the work.
KEYS = {"inventory/holds.csv": "key", "inventory/batches.csv": "hold_key"}


def _verdict(cells: Cells) -> Cells:
    """Up to 0.23, a piece was good or had failed from the day it was poured."""
    state = cells.get("state", "")
    return {"verdict": state if state in ("good", "failed") else ""} | cells


def _all_judged(cells: Cells) -> Cells:
    return {"judged_count": cells.get("count", "")} | cells


JUDGED = {PIECES: _verdict, POURS: _all_judged}


def older(files: Files) -> Older:
    """Return what became of the tables of an archive, as `restoring` asks for it."""
    found = Older(gone=GONE) if WORKS in files else _without_works(files)
    settings = next((cells for _, cells in rows(files, SETTINGS_FILE, _Any())), {})
    zone = _zone(settings.get("time_zone", ""))

    def booked(cells: Cells) -> Cells:
        """Up to 0.12, an entry counted on the day it happened."""
        return {"booked_on": _day(cells.get("happened_at", ""), zone)} | cells

    changed = {ENTRIES: booked, **found.changed, **_on_days(settings, zone), **JUDGED}
    return replace(found, changed=changed)


def _on_days(settings: Cells, zone: ZoneInfo) -> dict[str, Callable[[Cells], Cells]]:
    """Give what is of a day up to 0.6 the currency, tax rule and day of refund it stood for.

    They were the studio's, and a refund was given on the day on which it was noted. Up to 0.15,
    all of it counted on its own day.
    """

    def priced(cells: Cells) -> Cells:
        return {"currency": settings.get("currency", "")} | cells

    def sold(cells: Cells) -> Cells:
        rule = {
            "tax_inclusive": settings.get("tax_inclusive", ""),
            "refunded_on": _day(cells.get("refunded_at", ""), zone),
        }
        found = rule | cells
        own = {"booked_on": cells.get("sold_on", ""), "refund_booked_on": found["refunded_on"]}
        return priced(own | found)

    def paid(cells: Cells) -> Cells:
        return priced({"booked_on": cells.get("paid_on", "")} | cells)

    return {SALES: sold, PAYMENTS: paid, CONSIGNMENTS: priced}


def _zone(name: str) -> ZoneInfo:
    """Return a zone; one that is not known is refused where the settings are read."""
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, ZoneInfoNotFoundError):
        return ZoneInfo("UTC")


def _day(moment: str, zone: ZoneInfo) -> str:
    """Return the day of a moment; of one that cannot be read none, and it is refused itself."""
    try:
        return f"{datetime.fromisoformat(moment).astimezone(zone).date()}"
    except (ValueError, OverflowError):
        return ""


def _without_works(files: Files) -> Older:
    """Give each commission its work, and other keys one each; the key tells which is whose."""
    keys = [_key(cells) for _, cells in rows(files, COMMISSIONS, _Any())]
    for file, column in KEYS.items():
        keys += [cells.get(column, "") for _, cells in rows(files, file, _Any())]
    works = {key: str(number) for number, key in enumerate(dict.fromkeys(filter(None, keys)), 1)}

    def named(column: str, cells: Cells) -> Cells:
        return cells | {"work_id": works.get(cells.pop(column, ""), "")}

    return Older(
        added={WORKS: [{"id": number} for number in works.values()]},
        gone=GONE | {file: {column} for file, column in KEYS.items()},
        changed={
            COMMISSIONS: lambda cells: cells | {"work_id": works[_key(cells)]},
            **{file: partial(named, column) for file, column in KEYS.items()},
        },
    )


def _key(commission: Cells) -> str:
    """Return the key of the holds of a commission, as 0.1 made it of its number in the database."""
    return f"commission-{commission.get('id', '')}"


class _Any:
    """All columns: which are known is asked when the rows are read to be written."""

    def __contains__(self, name: object) -> bool:
        return True
