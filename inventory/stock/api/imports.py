"""Files brought in: shown row by row, or, with ``apply``, all of it or nothing."""

from collections.abc import Iterator
from contextlib import AbstractContextManager, nullcontext
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.urls import URLPattern, path
from rest_framework import serializers

from inventory.stock import imports
from inventory.stock.imports import SHEETS, Fate, ImportSheet
from studio.api.acts import act, file
from studio.api.files import AS, TABLES, asked_format
from studio.api.parsers import CleanMultiPartParser
from studio.api.rows import checked_serializer
from studio.api.viewsets import StudioViewSet
from studio.requests import ApiRequest
from studio.tables import FORMATS, Limits


class ImportIn(serializers.Serializer):
    """A CSV or XLSX file of up to 2 MB and 2,000 rows."""

    file = serializers.FileField(max_length=200)
    apply = serializers.BooleanField(
        default=False, help_text="Bring it in; without this it is only shown."
    )


class FateCountsOut(serializers.Serializer):
    new, changed, same, wrong = (serializers.IntegerField() for _ in range(4))


class CellChangeOut(serializers.Serializer):
    """A cell that changes something, as text."""

    heading, before, after = (serializers.CharField() for _ in range(3))


class CellFaultOut(serializers.Serializer):
    """What is wrong with a cell; with the whole row where the heading is empty."""

    heading, sentence = serializers.CharField(), serializers.CharField()


class RowFateOut(serializers.Serializer):
    """One row of the file, by its line."""

    line = serializers.IntegerField()
    what, note = serializers.CharField(), serializers.CharField()
    fate = serializers.ChoiceField([fate.value for fate in Fate])
    changes = CellChangeOut(many=True)
    faults = CellFaultOut(many=True)


class PreviewOut(serializers.Serializer):
    """What becomes, or became, of every row."""

    applied = serializers.BooleanField()
    counts = FateCountsOut()
    notices = serializers.ListField(child=serializers.CharField())
    rows = RowFateOut(many=True)


class Imports(StudioViewSet):
    """What comes in by the file, of one kind of sheet."""

    sheet: ImportSheet = SHEETS["materials"]  # each address tells its own
    parser_classes = (CleanMultiPartParser,)

    def prepare(self, request: ApiRequest) -> AbstractContextManager[imports.Ready]:
        sent = checked_serializer(request, ImportIn).validated_data["file"]
        body = sent.read(Limits().body + 1)
        return nullcontext(imports.made_ready(studio=self.studio, sheet=self.sheet, body=body))

    @act(ImportIn, gives=PreviewOut, on_row=False)
    def bring_in(self, file: UploadedFile, apply: bool) -> dict[str, Any]:
        """Bring a file in, all of it or nothing, or see what becomes of every row.

        A refusal names each cell at fault by its line in the file, such as lines.3.Kind.
        """
        plan = self.ready.plan
        if apply:
            plan = imports.carry_out(
                studio=self.studio,
                by=self.request.user,
                ready=self.ready,
                file_name=file.name or "",
            )
        return {
            "applied": apply,
            "counts": plan.counts,
            "notices": plan.notices,
            "rows": plan.rows,
        }

    @file(media_types=TABLES, on_row=False, parameters=(AS,), role="maker")
    def template(self) -> HttpResponse:
        """An empty file to fill in."""
        extension = asked_format(self.request)
        body = imports.template(studio=self.studio, sheet=self.sheet, extension=extension)
        return HttpResponse(body, content_type=FORMATS[extension])


def _paths() -> Iterator[URLPattern]:
    for sheet in SHEETS.values():
        name = f"api-imports-{sheet.name}"
        names = {"sheet": sheet, "basename": name, "sights": sheet.sights}
        whole = Imports.as_view({"post": "bring_in"}, **names)
        template = Imports.as_view({"get": "template"}, **names)
        yield path(f"imports/{sheet.name}/", whole, name=name)
        yield path(f"imports/{sheet.name}/template/", template, name=f"{name}-template")


urlpatterns = list(_paths())
