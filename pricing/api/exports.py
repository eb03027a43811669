"""Lists and the whole studio as files."""

from contextlib import AbstractContextManager
from typing import Any

from django.core.files import File
from django.http import FileResponse, HttpResponse
from django.urls import URLPattern, path
from rest_framework import serializers
from rest_framework.request import Request

from pricing.exports import LISTS, importing
from pricing.views.exports import archive_answer, list_answer
from studio.api.acts import act, answer, file
from studio.api.asked import PERIOD, asked_period
from studio.api.files import AS, TABLES, asked_format
from studio.api.parsers import CleanMultiPartParser
from studio.api.viewsets import StudioViewSet
from studio.tables import Listing
from studio.transfer.filling import Filled


class ListOut(serializers.Serializer):
    """A list that can be taken out, and its columns."""

    name, title = serializers.CharField(), serializers.CharField()
    headings = serializers.ListField(child=serializers.CharField())


class Exports(StudioViewSet):
    """Lists as files; an address of its own for each ``listing``."""

    listing: Listing | None = None

    @answer(ListOut, pages=True, on_row=False)
    def list_all(self) -> list[Listing]:
        """Every list that this member can take out as a file, with its columns."""
        membership = self.request.membership
        return [
            one.seen_by(membership)
            for one in LISTS.values()
            if all(map(membership.sees, one.sights))
        ]

    @file(media_types=TABLES, on_row=False, parameters=(AS, *PERIOD))
    def read(self) -> HttpResponse:
        """A list as a table for a spreadsheet; of a period, where its rows have a day."""
        assert self.listing is not None  # its address gives it
        listing = self.listing.seen_by(self.request.membership)
        extension, period = asked_format(self.request), asked_period(self)
        return list_answer(listing, self.studio, extension, period)


class ArchiveIn(serializers.Serializer):
    """The .zip file of a whole studio."""

    file = serializers.FileField(max_length=200)


class RestoredOut(serializers.Serializer):
    """How many rows came in."""

    rows = serializers.IntegerField()


class StudioArchive(StudioViewSet):
    """The whole studio as one archive of tables."""

    read_role = write_role = "owner"
    parser_classes = (CleanMultiPartParser,)

    @file(media_types=("application/zip",), on_row=False)
    def read(self) -> FileResponse:
        """All of the studio: one zip of CSV tables, with a dictionary of their columns."""
        return archive_answer(self.studio)

    def prepare(self, request: Request) -> "AbstractContextManager[Filled]":
        return importing(self.studio, self.sent(ArchiveIn)["file"])

    @act(ArchiveIn, gives=RestoredOut, status=201, on_row=False)
    def restore(self, file: File) -> dict[str, int]:
        """Fill an empty studio from an archive; all of it or nothing."""
        return {"rows": self.ready.hand_over()}


def _path(
    address: str, answers: type[StudioViewSet], methods: dict[str, Any], **more: object
) -> URLPattern:
    name = "-".join(["api", *address.strip("/").split("/")])
    return path(address, answers.as_view(methods, basename=name, **more), name=name)


urlpatterns = [
    _path("exports/", Exports, {"get": "list_all"}),
    *(
        _path(f"exports/{name}/", Exports, {"get": "read"}, listing=listing, sights=listing.sights)
        for name, listing in LISTS.items()
    ),
    _path("studio-archive/", StudioArchive, {"get": "read", "post": "restore"}),
]
