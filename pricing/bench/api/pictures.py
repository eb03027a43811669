"""Pictures of commissions, pours, pieces and sets: added, read, described, removed."""

from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db.models import QuerySet
from django.http import HttpResponse
from rest_framework import serializers
from rest_framework.parsers import BaseParser
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from pricing.bench.pictures import MOST, add_pictures, describe_picture, remove_picture
from pricing.bench.views.pictures import SIZES, picture_answer
from pricing.models import Commission, FinishedPiece, Picture, PieceSet, Pour
from studio.api.acts import describes, file
from studio.api.asked import Filters, IdFilter
from studio.api.parsers import CleanMultiPartParser
from studio.api.rows import OwnId, OwnNumber, RowOut
from studio.api.viewsets import Changed, Listed, Read, Removed
from studio.formfields import prepare_upload
from studio.pictures import PictureError
from studio.requests import ApiRequest

THINGS = ("commission", "pour", "piece", "set")


class PictureOut(RowOut):
    """A picture, by its id; its bytes are at ``pictures/<id>/file/``."""

    commission = serializers.IntegerField(source="commission.number", allow_null=True, default=None)
    pour = serializers.IntegerField(source="pour.number", allow_null=True, default=None)
    piece = serializers.IntegerField(source="piece_id", allow_null=True, help_text="Its id.")
    set = serializers.IntegerField(source="piece_set.number", allow_null=True, default=None)
    by = serializers.CharField(source="by.username", allow_null=True, default=None)

    class Meta:
        model = Picture
        fields = read_only_fields = (
            *("id", "commission", "pour", "piece", "set", "number", "kind", "caption"),
            *("width", "height", "size_bytes", "sha256", "by", "added_at"),
        )


class PictureWordsIn(serializers.Serializer):
    """What a picture shows."""

    kind = serializers.ChoiceField(choices=Picture.Kind.choices, required=False)
    caption = serializers.CharField(max_length=200, required=False, allow_blank=True)


class UploadField(serializers.FileField):
    """A JPEG, PNG or WebP file of up to 15 MB and 40 megapixels, made ready to keep."""

    def to_internal_value(self, data: Any) -> Any:  # a `Prepared`, in place of its file
        file = super().to_internal_value(data)
        assert isinstance(file, UploadedFile)
        try:
            return prepare_upload(file)
        except PictureError as error:
            raise serializers.ValidationError(str(error), code="picture") from error


class PicturesIn(PictureWordsIn):
    """Up to 12 pictures of one commission, pour, piece or set that show the same."""

    commission = OwnNumber(queryset=Commission.objects, required=False)
    pour = OwnNumber(queryset=Pour.objects, required=False)
    piece = OwnId(queryset=FinishedPiece.objects, required=False)
    set = OwnNumber(queryset=PieceSet.objects, required=False)
    files = serializers.ListField(
        source="pictures", child=UploadField(), allow_empty=False, max_length=MOST
    )

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        named = [data.pop(name) for name in THINGS if name in data]
        if len(named) != 1:
            raise serializers.ValidationError(
                "Name one thing: a commission, a pour, a piece or a set."
            )
        return data | {"thing": named[0]}


class AddedPicturesOut(serializers.Serializer):
    """The pictures that were added."""

    pictures = PictureOut(many=True)


class PictureFilters(Filters):
    commission = IdFilter("commission__number", label="The number of a commission.")
    pour = IdFilter("pour__number", label="The number of a pour.")
    piece = IdFilter("piece", label="The id of a piece.")
    set = IdFilter("piece_set__number", label="The number of a set.")


class SizeAsked(serializers.Serializer):
    size = serializers.ChoiceField(choices=SIZES, default="full")


class Pictures(Listed, Read, Changed, Removed):
    """The pictures, those added last first."""

    model, out, takes = Picture, PictureOut, PictureWordsIn
    filterset_class = PictureFilters

    def get_parsers(self) -> list[BaseParser]:
        return super().get_parsers() if self.detail else [CleanMultiPartParser()]

    def rows(self) -> QuerySet[Picture]:
        rows = self.studio.pictures.select_related("commission", "pour", "piece_set", "by")
        return rows.order_by("-pk")

    @describes(takes=PicturesIn, gives=AddedPicturesOut)
    def create(self, request: ApiRequest) -> Response:
        """Add pictures to one commission, pour, piece or set; all of them or none.

        They are turned upright, brought to sRGB, made smaller where they are larger than 1600
        pixels a side, and kept as JPEG without any metadata, such as where they were taken.
        """
        pictures = add_pictures(by=request.user, **self.sent(PicturesIn))
        return self.response_of({"pictures": pictures}, AddedPicturesOut, status=201)

    def change(self, picture: Picture, sent: BaseSerializer) -> Picture:
        """Change what a picture is said to show."""
        return describe_picture(picture=picture, **sent.validated_data)

    def remove(self, picture: Picture) -> None:
        """Remove a picture for good."""
        remove_picture(picture=picture)

    @file(media_types=("image/jpeg",), parameters=(SizeAsked,))
    def file(self, picture: Picture) -> HttpResponse:
        """The picture as a JPEG: in full, or small, at most 320 pixels a side."""
        size = self.checked_query(SizeAsked)["size"]
        return picture_answer(self.request, self.studio, picture.pk, size)
