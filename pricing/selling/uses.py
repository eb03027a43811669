"""What packed sets are for, put right; what was said before stays on record."""

from django.contrib.auth.models import User
from django.db import transaction

from pricing.errors import SetRefused
from pricing.models import PieceSet, UseChange
from pricing.readiness.asking import Act, ask
from pricing.readiness.concerns import before_changing_use
from pricing.selling.ready import commissions_of, locked_sets


@transaction.atomic
def change_use(
    *, piece_set: PieceSet, by: User | None, use: str, why: str = "", reason: str = ""
) -> PieceSet:
    """Say what a packed set is for, in place of what was said; its cards and papers follow.

    Parameters
    ----------
    piece_set : PieceSet
    use : str
        As `pricing.models.Use` says it; empty where it is not known
    why : str
        Why what was said was wrong
    reason : str
        Why it is for that though it is not fit for it, see `readiness.asking`

    Raises
    ------
    SetRefused
        If it is not packed any more, or somebody has bought it.
    ReasonNeeded
        If it is not fit for what it is to be for, and no reason is given.
    """
    piece_set = locked_sets(piece_set.studio, [piece_set])[0]
    if piece_set.unpacked_at or piece_set.written_off_at:
        raise SetRefused(f"{piece_set} is not packed any more.")
    if piece_set.sale_lines.filter(is_live=True).exists():
        raise SetRefused(
            f"{piece_set} is sold, and its card went with it. Tell whoever bought it; if it comes "
            "back, refund the sale and change it then."
        )
    if use == piece_set.use:
        return piece_set
    UseChange.objects.create(piece_set=piece_set, was=piece_set.use, use=use, why=why, by=by)
    piece_set.use = use
    piece_set.save(update_fields=["use"])
    told = [piece_set, *commissions_of([piece_set])]
    against = before_changing_use(piece_set)
    studio = piece_set.studio
    ask(Act.USE, against, reason, studio=studio, by=by, before=told, piece_set=piece_set)
    return piece_set
