"""Refusals of this app, each with its code; the sentence is built where the facts are known."""

from collections.abc import Sequence

from studio.errors import StudioError


class NoPriceKnown(StudioError):
    """Something has neither been bought nor has a pack with a price, so work cannot be costed."""

    code = "no_price_known"


class NothingOrdered(StudioError):
    """A commission without a line cannot be estimated or quoted."""

    code = "nothing_ordered"


class AppraisalRefused(StudioError):
    """What a thing would bring cannot be noted like that."""

    code = "appraisal_refused"


class CommissionClosed(StudioError):
    """The commission is past the point where this can be done to it."""

    code = "commission_closed"


class CalendarRefused(StudioError):
    """Working days that cannot be, or a day that cannot be promised."""

    code = "calendar_refused"


class QuoteNotOpen(StudioError):
    """The quote was answered, replaced or has run out."""

    code = "quote_not_open"


class LinkGone(StudioError):
    """The private link was revoked, replaced or left too long."""

    code = "link_gone"


class AnswerIncomplete(StudioError):
    """A customer's answer without a name or a reason."""

    code = "answer_incomplete"


class TileAnswerRefused(StudioError):
    """An answer that this pour cannot have: it is no test tile, or has one."""

    code = "tile_answer_refused"


class AlreadyAccepted(StudioError):
    """The commission already has an accepted quote."""

    code = "already_accepted"


class PourRefused(StudioError):
    """A pour or topcoat that cannot have gone as written."""

    code = "pour_refused"


class PairRefused(StudioError):
    """A paired test cannot go on like that."""

    code = "pair_refused"


class RatioNotRead(StudioError):
    """A resin kit whose ratio nobody has read off its label coats nothing."""

    code = "ratio_not_read"


class JudgementRefused(StudioError):
    """Pieces that cannot have come out as said, or whose surfaces cannot come back."""

    code = "judgement_refused"


class PictureRefused(StudioError):
    """A picture that cannot be taken, or not here."""

    code = "picture_refused"


class SetRefused(StudioError):
    """Pieces that cannot be packed, or a set that cannot be unpacked."""

    code = "set_refused"


class SaleRefused(StudioError):
    """A set that is not for sale, or a sale that cannot be refunded."""

    code = "sale_refused"


class ConsignmentRefused(StudioError):
    """Sets that cannot be sent to a shop, or are not out at it any more."""

    code = "consignment_refused"


class ReasonNeeded(StudioError):
    """Something speaks against an act, and nobody has said yet why it goes on."""

    code = "reason_needed"

    def __init__(self, sentences: Sequence[str], helps: str, offered: str = "") -> None:
        self.sentences, self.helps, self.offered = [*sentences], helps, offered
        super().__init__(f"{' '.join(sentences)} {helps}")

    @property
    def fields(self) -> dict[str, list[str]]:
        """What was said, beside the field for the reason."""
        return {"reason": self.sentences}

    @property
    def hints(self) -> dict[str, str]:
        """What to do, under the field for the reason."""
        return {"reason": hint_of(self.helps, self.offered)}

    @property
    def offers(self) -> dict[str, str]:
        """The reason that was written before, to be sent again as it is."""
        return {"reason": self.offered} if self.offered else {}


def hint_of(helps: str, offered: str) -> str:
    """Return what stands under the field for a reason: what to do, and whose words are in it."""
    again = " As written before: send it again if it still holds." if offered else ""
    return f"{helps} It stays on record.{again}"


class PaymentRefused(StudioError):
    """Money that cannot have been paid or given back like this."""

    code = "payment_refused"


class InvoiceRefused(StudioError):
    """An invoice that cannot be issued or credited."""

    code = "invoice_refused"


class CatalogueError(StudioError):
    """A palette or technique that cannot be written down like this."""

    code = "catalogue"


class CardRefused(StudioError):
    """Cards or tags that cannot be printed like that."""

    code = "card_refused"
