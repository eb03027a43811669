"""What needs doing about stock: alerts, their daily mail, promises, and what runs out."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from inventory.buying.alert_mail import choose_alert_mail, gets_alert_mail
from inventory.buying.alerts import KINDS, alerts
from inventory.buying.demand import levels
from inventory.buying.running_out import run_out_days
from inventory.models import Hold, Material
from inventory.stock.holds import coverage
from inventory.supplies.api.materials import MaterialName, number
from studio.api.rows import RowOut
from studio.api.viewsets import Changed, Read, StudioViewSet
from studio.models import Membership
from studio.sight import PROFIT


class AlertOut(serializers.Serializer):
    """One thing to do about a material; ``days_left`` is how long it lasts at the usual use.

    Where a material costs more than a quote reckoned with, ``work`` is that quote, ``rise`` the
    share by which it costs more and ``extra_cost`` what that takes from the quote's profit.
    """

    kind = serializers.ChoiceField(choices=list(KINDS))
    material = MaterialName()
    sentence = serializers.CharField()
    days_left = serializers.FloatField(allow_null=True)
    runs_out_on = serializers.DateField(allow_null=True)
    bottle = serializers.CharField(
        source="bottle.code",
        allow_null=True,
        default=None,
        help_text="The first of the bottles that expire, where it is about that.",
    )
    bottles = serializers.IntegerField(help_text="How many bottles expire; 0 for other alerts.")
    work = serializers.CharField()
    rise = serializers.DecimalField(10, 4, allow_null=True)
    extra_cost = serializers.DecimalField(14, 3, allow_null=True)


class AlertMailOut(serializers.Serializer):
    """Whether the person this token belongs to is written to on each day with news."""

    wanted = serializers.SerializerMethodField()

    def get_wanted(self, membership: Membership) -> bool:
        return gets_alert_mail(membership)


class AlertMailIn(serializers.Serializer):
    wanted = serializers.BooleanField()


class HoldOut(RowOut):
    """Stock promised to one work; ``covered`` is how much of ``outstanding`` is there for it."""

    material = MaterialName()
    outstanding = serializers.DecimalField(14, 4)
    covered = serializers.DecimalField(14, 4)

    class Meta:
        model = Hold
        fields = read_only_fields = (
            *("id", "label", "material", "outstanding", "covered", "needed_by", "created_at"),
        )


class RunningOutOut(serializers.Serializer):
    """A material and the day on which it runs out; ``use_per_day`` is the usual use."""

    material = MaterialName()
    on_hand = serializers.DecimalField(14, 4, source="material.on_hand")
    held = serializers.DecimalField(14, 4, source="material.held")
    on_order = serializers.DecimalField(14, 4, source="material.on_order")
    use_per_day = number()
    runs_out_on = serializers.DateField()


class Alerts(StudioViewSet):
    """What needs doing about stock."""

    model, out = Material, AlertOut

    def list(self, request: Request, **key: Any) -> Response:
        """List the alerts, what stops work first on top.

        What prices do to profit is told to those who see profit.
        """
        return self.page_response(alerts(self.studio, self.request.membership.sees(PROFIT)))


class OwnAlertMail(Read, Changed):
    """The daily mail of alerts to the token's own person; owners get it until they choose."""

    model, out, takes = Membership, AlertMailOut, AlertMailIn
    write_role = "viewer"  # it is their own letter box
    partial = False

    def rows(self) -> QuerySet[Membership]:
        return Membership.objects.filter(pk=self.request.membership.pk)

    def row(self, *, lock: bool = False) -> Membership:
        return (self.rows().select_for_update() if lock else self.rows()).get()

    def retrieve(self, request: Request, **key: Any) -> Response:
        """Whether the token's own person gets the daily mail of alerts."""
        return super().retrieve(request, **key)

    def change(self, row: Membership, sent: BaseSerializer) -> Membership:
        """Switch the daily mail to the token's own person on or off."""
        choose_alert_mail(membership=row, **sent.validated_data)
        return row


class Holds(StudioViewSet):
    """What is promised."""

    model, out = Hold, HoldOut

    def list(self, request: Request, **key: Any) -> Response:
        """List what is promised to accepted work, first promised first served."""
        promised = coverage(self.studio)
        for hold, covered in promised.items():
            vars(hold)["covered"] = covered
        return self.page_response(list(promised))


class RunningOut(StudioViewSet):
    """What runs out, and when."""

    model, out = Material, RunningOutOut

    def list(self, request: Request, **key: Any) -> Response:
        """List what runs out within a year, soonest first: use, promises and orders counted."""
        standing = levels(self.studio)
        days = run_out_days(self.studio, standing)
        rows = [
            {
                "material": level.material,
                "use_per_day": level.point.mean_per_day,
                "runs_out_on": days[level.material.pk],
            }
            for level in standing
            if days[level.material.pk]
        ]
        return self.page_response(
            sorted(rows, key=lambda row: (row["runs_out_on"], row["material"].name))
        )
