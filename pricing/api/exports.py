"""Lists and the whole studio as files."""

from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.api.imports import asked_format, describes_file
from pricing.exports import LISTS, importing
from pricing.views.exports import archive_answer, list_answer
from studio.api.papers import PaperView
from studio.api.parsers import CleanMultiPartParser
from studio.api.rows import asked
from studio.api.views import StudioView


class ListOut(serializers.Serializer):
    """A list that can be taken out."""

    name, title = serializers.CharField(), serializers.CharField()
    headings = serializers.ListField(child=serializers.CharField())


class ListsOut(serializers.Serializer):
    """Every list that can be taken out."""

    lists = ListOut(many=True)


class ListsEndpoint(StudioView):
    """What can be taken out."""

    @extend_schema(operation_id="exports_list", responses=ListsOut)
    def get(self, request):
        """Every list that can be taken out as a file, with its columns."""
        return Response(ListsOut({"lists": LISTS.values()}).data)


class ArchiveIn(serializers.Serializer):
    """The .zip file of a whole studio."""

    file = serializers.FileField(max_length=200)


class RestoredOut(serializers.Serializer):
    """How many rows came in."""

    rows = serializers.IntegerField()


class ArchiveEndpoint(PaperView):
    """The whole studio as one archive of tables."""

    read_role = write_role = "owner"
    parser_classes = [CleanMultiPartParser]

    @extend_schema(
        operation_id="studio_archive", responses={(200, "application/zip"): OpenApiTypes.BINARY}
    )
    def get(self, request):
        """All of the studio: one zip of CSV tables, with a dictionary of their columns."""
        return archive_answer(request.studio)

    @extend_schema(
        operation_id="studio_restore",
        request={"multipart/form-data": ArchiveIn},
        responses={201: RestoredOut},
    )
    def post(self, request):
        """Fill an empty studio from an archive; all of it or nothing."""
        return Response({"rows": self.ready.hand_over()}, status=201)

    def prepare(self, request):
        return importing(request.studio, asked(request, ArchiveIn).validated_data["file"])


def _list_view(listing):
    class ListEndpoint(PaperView):
        @describes_file(f"export_{listing.name.replace('-', '_')}", f"{listing.title} as a file.")
        def get(self, request):
            return list_answer(listing, request.studio, asked_format(request))

    return ListEndpoint


urlpatterns = [
    path("exports/", ListsEndpoint.as_view(), name="api-exports"),
    path("studio-archive/", ArchiveEndpoint.as_view(), name="api-studio-archive"),
    *(
        path(f"exports/{name}/", _list_view(listing).as_view(), name=f"api-export-{name}")
        for name, listing in LISTS.items()
    ),
]
