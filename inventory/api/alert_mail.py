"""Whether the token's own person gets the daily mail of alerts."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.buying.alert_mail import choose_alert_mail, gets_alert_mail
from studio.api.views import StudioView


class AlertMailIn(serializers.Serializer):
    """Whether to write to the person this token belongs to, each day with news."""

    wanted = serializers.BooleanField()


class AlertMailEndpoint(StudioView):
    """The daily mail of alerts to the token's own person."""

    write_role = "viewer"  # it is their own letter box

    @extend_schema(operation_id="alert_mail_read", responses=AlertMailIn)
    def get(self, request):
        """Whether the token's own person gets the daily mail; owners do until they choose."""
        return Response({"wanted": gets_alert_mail(request.membership)})

    @extend_schema(operation_id="alert_mail_choose", request=AlertMailIn, responses=AlertMailIn)
    def put(self, request):
        """Switch the daily mail to the token's own person on or off."""
        asked = AlertMailIn(data=request.data)
        asked.is_valid(raise_exception=True)
        mail = choose_alert_mail(membership=request.membership, **asked.validated_data)
        return Response({"wanted": mail.goes_out})
