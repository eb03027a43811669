"""What is owed, or was on a past day, as a table."""

from datetime import date

from django.http import HttpResponse

from pricing.commissions.owing import owed
from studio.models import Studio
from studio.tables import FORMATS, table_bytes

COLUMNS = (
    "As of",
    "Commission",
    "Title",
    "Customer",
    "Currency",
    "Agreed",
    "Paid",
    "Owed",
    "Deposit due",
)


def owed_file(studio: Studio, extension: str, day: date | None) -> HttpResponse:
    """Answer with what was owed at the end of a past day, or is now; each row says which day."""
    on = day or studio.today()
    lines = [
        [
            on,
            one.commission.number,
            one.commission.title,
            one.commission.customer.name,
            one.currency,
            one.agreed,
            one.paid,
            one.owed,
            one.deposit_owed,
        ]
        for one in owed(studio, day)
    ]
    name = f"owed-{day}" if day else "owed"
    return HttpResponse(
        table_bytes(extension, COLUMNS, lines, "Owed"),
        content_type=FORMATS[extension],
        headers={"Content-Disposition": f'attachment; filename="{name}.{extension}"'},
    )
