"""Archives that an older version wrote, read as those of today."""

from functools import partial

from studio.transfer import Older
from studio.transfer.files import Files
from studio.transfer.older import Cells
from studio.transfer.tables import rows

WORKS, COMMISSIONS = "inventory/works.csv", "pricing/commissions.csv"
# Up to 0.2, these carried when a row was changed, and it was not read.
CLOCKS = {"pricing/pours.csv": {"changed_at"}, "pricing/surfaces.csv": {"changed_at"}}
# Up to 0.1, what a row was for stood in it as a text, the key of the work.
KEYS = {"inventory/holds.csv": "key", "inventory/batches.csv": "hold_key"}


def older(files: Files) -> Older:
    """Return what became of the tables of an archive, as `restoring` asks for it."""
    return Older(gone=CLOCKS) if WORKS in files else _without_works(files)


def _without_works(files: Files) -> Older:
    """Give each commission its work, and other keys one each; the key tells which is whose."""
    keys = [_key(cells) for _, cells in rows(files, COMMISSIONS, _Any())]
    for file, column in KEYS.items():
        keys += [cells.get(column, "") for _, cells in rows(files, file, _Any())]
    works = {key: str(number) for number, key in enumerate(dict.fromkeys(filter(None, keys)), 1)}

    def named(column: str, cells: Cells) -> Cells:
        return cells | {"work_id": works.get(cells.pop(column, ""), "")}

    return Older(
        made={WORKS: [{"id": number} for number in works.values()]},
        gone=CLOCKS | {file: {column} for file, column in KEYS.items()},
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
