"""Load the invented studio, live its story, and say what came of it."""

from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import transaction

from inventory.buying.papers import orders_sheet
from pricing.demo import shelves, shop, story, telling
from pricing.models import Commission
from pricing.quoting.papers import quote_pdf
from studio.models import Studio
from studio.pdf import PdfUnavailable


class Command(BaseCommand):
    help = (
        "Loads a demo studio through the same services a person uses, tells the story of one "
        "commission, and writes its quote and reorder sheet as PDFs. It is loaded into a database "
        "without studios only; run again, it changes nothing."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--out", default="papers", help="folder for the PDFs (papers)")
        parser.add_argument(
            "--no-serve", action="store_true", help="exit instead of serving the site"
        )
        parser.add_argument("--port", type=int, default=8000, help="where to serve (8000)")
        parser.add_argument("--seed", type=int, default=1, help="seed of the past pours (1)")
        parser.add_argument(
            "--stage",
            choices=story.STAGES,
            default="sold",
            help="how far the story goes when the studio is first loaded (sold)",
        )

    def handle(
        self, *, out: str, no_serve: bool, port: int, seed: int, stage: str, **options: Any
    ) -> None:
        if shop.is_free():
            with transaction.atomic():  # stopped half-way, it leaves nothing
                story.begin(seed, until=stage)
        studio = shop.loaded()
        if studio is None:
            self.stdout.write("This database is in use already, so the demo is not loaded into it.")
        else:
            self._tell(studio, Path(out))
        if not no_serve:
            call_command("runserver", f"127.0.0.1:{port}", use_reloader=False)

    def _tell(self, studio: Studio, folder: Path) -> None:
        commission = studio.commissions.order_by("number").first()
        if commission:
            self.stdout.write(telling.tell(studio, commission))
        try:
            self._papers(studio, commission, folder)
        except PdfUnavailable as error:
            self.stdout.write(f"\n{error}")
        email = shelves.OWNER["email"]
        self.stdout.write(
            f"\nSign in as {email} with the password {shelves.PASSWORD}"
            if shop.signs_in(studio)
            else "\nThe demo's sign-in was changed, so sign in with an account of your own."
        )

    def _papers(self, studio: Studio, commission: Commission | None, folder: Path) -> None:
        papers = {}
        quote = commission and commission.quotes.exclude(number=None).last()
        if quote:
            papers[f"quote-{quote.number}.pdf"] = quote_pdf(quote)
        orders = list(studio.purchase_orders.order_by("number"))
        if orders:
            papers["reorder-sheet.pdf"] = orders_sheet(studio, orders)
        if not papers:
            return
        folder.mkdir(parents=True, exist_ok=True)
        for name, body in papers.items():
            (folder / name).write_bytes(body)
        self.stdout.write(f"\nPapers in {folder.resolve()}: {', '.join(papers)}")
