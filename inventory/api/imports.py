"""Files brought in: shown row by row, or, with ``apply``, all of it or nothing."""

from contextlib import nullcontext

from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.stock import imports
from inventory.stock.imports import SHEETS, Fate, ImportRefused
from studio.api.papers import PaperView
from studio.api.parsers import CleanMultiPartParser
from studio.api.rows import asked
from studio.api.views import StudioView
from studio.tables import FORMATS, Limits

AS = OpenApiParameter("as", str, enum=list(FORMATS), default="csv")


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


class RefusedPreviewOut(PreviewOut):
    """A file of which nothing was brought in, and why."""

    code, detail = serializers.CharField(), serializers.CharField()


def asked_format(request):
    """Return the kind of file that is asked for; anything else is a 400."""
    extension = request.query_params.get("as", "csv")
    if extension not in FORMATS:
        raise serializers.ValidationError({"as": [f"Choose one of: {', '.join(FORMATS)}."]})
    return extension


def describes_file(operation_id, summary):
    """Describe an operation that answers with a table."""
    return extend_schema(
        operation_id=operation_id,
        summary=summary,
        parameters=[AS],
        responses={(200, kind.split(";")[0]): OpenApiTypes.BINARY for kind in FORMATS.values()},
    )


def _import_view(sheet):
    key = sheet.name.replace("-", "_")

    class ImportEndpoint(StudioView):
        parser_classes = [CleanMultiPartParser]

        def prepare(self, request):
            sent = asked(request, ImportIn).validated_data
            body = sent["file"].read(Limits().body + 1)
            ready = imports.made_ready(studio=request.studio, sheet=sheet, body=body)
            return nullcontext((ready, sent["apply"], sent["file"].name))

        @extend_schema(
            operation_id=f"import_{key}",
            summary=f"Bring in a file of {sheet.title.lower()}, or see what it would change.",
            request={"multipart/form-data": ImportIn},
            responses={200: PreviewOut, 409: RefusedPreviewOut},
        )
        def post(self, request):
            ready, apply, name = self.ready
            if not apply:
                return _answer(ready.plan, applied=False)
            try:
                plan = imports.carry_out(
                    studio=request.studio, by=request.user, ready=ready, file_name=name
                )
            except ImportRefused as refused:
                told = {"code": refused.code, "detail": str(refused)}
                return _answer(refused.preview, applied=False, status=409, **told)
            return _answer(plan, applied=True)

    class TemplateEndpoint(PaperView):
        read_role = "maker"

        @describes_file(f"import_{key}_template", f"An empty file of {sheet.title.lower()}.")
        def get(self, request):
            extension = asked_format(request)
            body = imports.template(studio=request.studio, sheet=sheet, extension=extension)
            return HttpResponse(body, content_type=FORMATS[extension])

    return ImportEndpoint, TemplateEndpoint


def _answer(plan, *, applied, status=200, **more):
    data = PreviewOut(
        {
            "applied": applied,
            "counts": plan.counts,
            "notices": plan.notices,
            "rows": plan.rows,
        }
    ).data
    return Response({**more, **data}, status=status)


def _paths():
    for sheet in SHEETS.values():
        whole, template = _import_view(sheet)
        address, name = f"imports/{sheet.name}/", f"api-import-{sheet.name}"
        yield path(address, whole.as_view(), name=name)
        yield path(f"{address}template/", template.as_view(), name=f"{name}-template")


urlpatterns = list(_paths())
