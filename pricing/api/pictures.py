"""Pictures of commissions, pours and sets: added, read, described, removed."""

from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.bench.pictures import MOST, add_pictures, describe_picture, remove_picture
from pricing.bench.views.pictures import SIZES, picture_answer
from pricing.models import Commission, Picture, PieceSet, Pour
from studio.api.papers import PaperView
from studio.api.parsers import CleanMultiPartParser
from studio.api.rows import OwnNumber, asked, asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView
from studio.formfields import prepare_upload
from studio.pictures import PictureError

THINGS = {"commission": "commission", "pour": "pour", "set": "piece_set"}
OF = [
    OpenApiParameter(name, int, description=f"Only those of the {name} with this number.")
    for name in THINGS
]


class PictureOut(serializers.ModelSerializer):
    """A picture, by its id; its bytes are at ``pictures/<id>/file/``."""

    commission = serializers.IntegerField(source="commission.number", allow_null=True, default=None)
    pour = serializers.IntegerField(source="pour.number", allow_null=True, default=None)
    set = serializers.IntegerField(source="piece_set.number", allow_null=True, default=None)
    by = serializers.CharField(source="by.username", allow_null=True, default=None)

    class Meta:
        model = Picture
        fields = [
            "id",
            "commission",
            "pour",
            "set",
            "number",
            "kind",
            "caption",
            "width",
            "height",
            "size_bytes",
            "sha256",
            "by",
            "added_at",
        ]
        read_only_fields = fields


class PictureWordsIn(serializers.Serializer):
    """What a picture shows."""

    kind = serializers.ChoiceField(choices=Picture.Kind.choices, required=False)
    caption = serializers.CharField(max_length=200, required=False, allow_blank=True)


class UploadField(serializers.FileField):
    """A JPEG, PNG or WebP file of up to 15 MB and 40 megapixels, made ready to keep."""

    def to_internal_value(self, data):
        try:
            return prepare_upload(super().to_internal_value(data))
        except PictureError as error:
            raise serializers.ValidationError(str(error), code="picture") from error


class PicturesIn(PictureWordsIn):
    """Up to 12 pictures of one commission, pour or set that show the same."""

    commission = OwnNumber(queryset=Commission.objects, required=False)
    pour = OwnNumber(queryset=Pour.objects, required=False)
    set = OwnNumber(queryset=PieceSet.objects, required=False)
    files = serializers.ListField(
        source="pictures", child=UploadField(), allow_empty=False, max_length=MOST
    )

    def validate(self, data):
        named = [data.pop(name) for name in THINGS if name in data]
        if len(named) != 1:
            raise serializers.ValidationError("Name one thing: a commission, a pour or a set.")
        return data | {"thing": named[0]}


class AddedPicturesOut(serializers.Serializer):
    """The pictures that were added."""

    pictures = PictureOut(many=True)


def _pictures(studio):
    return studio.pictures.select_related("commission", "pour", "piece_set", "by")


class PicturesEndpoint(StudioView):
    """The pictures."""

    parser_classes = [CleanMultiPartParser]

    @extend_schema(operation_id="pictures_list", parameters=OF, responses=pages_of(PictureOut))
    def get(self, request):
        """List the pictures, those added last first."""
        rows = _pictures(request.studio).order_by("-pk")
        for name, field in THINGS.items():
            number = asked_number(request, name)
            if number is not None:
                rows = rows.filter(**{f"{field}__number": number})
        return self.paginated(rows, PictureOut)

    @extend_schema(
        operation_id="pictures_add",
        request={"multipart/form-data": PicturesIn},
        responses={201: AddedPicturesOut},
    )
    def post(self, request):
        """Add pictures to one commission, pour or set; all of them or none.

        They are turned upright, brought to sRGB, made smaller where they are larger than 1600
        pixels a side, and kept as JPEG without any metadata, such as where they were taken.
        """
        sent = asked(request, PicturesIn).validated_data
        made = add_pictures(by=request.user, **sent)
        return Response(AddedPicturesOut({"pictures": made}).data, status=201)


class PictureEndpoint(StudioView):
    """One picture."""

    @extend_schema(operation_id="pictures_read", responses=PictureOut)
    def get(self, request, pk):
        """Read what is known of a picture."""
        return Response(PictureOut(get_object_or_404(_pictures(request.studio), pk=pk)).data)

    @extend_schema(operation_id="pictures_change", request=PictureWordsIn, responses=PictureOut)
    def patch(self, request, pk):
        """Change what a picture is said to show."""
        found = get_object_or_404(_pictures(request.studio), pk=pk)
        describe_picture(picture=found, **asked(request, PictureWordsIn).validated_data)
        return Response(PictureOut(_pictures(request.studio).get(pk=pk)).data)

    @extend_schema(operation_id="pictures_remove", request=None, responses={204: None})
    def delete(self, request, pk):
        """Remove a picture for good."""
        remove_picture(picture=get_object_or_404(_pictures(request.studio), pk=pk))
        return Response(status=204)


class PictureFileEndpoint(PaperView):
    """The bytes of one picture."""

    @extend_schema(
        operation_id="pictures_file",
        parameters=[OpenApiParameter("size", str, enum=SIZES, default="full")],
        responses={(200, "image/jpeg"): OpenApiTypes.BINARY},
    )
    def get(self, request, pk):
        """The picture as a JPEG: in full, or small, at most 320 pixels a side."""
        size = request.query_params.get("size", "full")
        if size not in SIZES:
            raise serializers.ValidationError({"size": [f"Choose one of: {', '.join(SIZES)}."]})
        return picture_answer(request, request.studio, pk, size)
