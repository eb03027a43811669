"""What is promised to accepted work, and what each work still lacks."""

from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.models import Hold
from inventory.stock.promised import promised_works
from inventory.stock.promised_then import promised_on
from inventory.supplies.api.materials import MaterialName, number
from pricing.commissions.commission_holds import commissions_by_work
from studio.api.acts import describes
from studio.api.asked import AS_OF, asked_past_day
from studio.api.viewsets import StudioViewSet

# A `list` in the classes below is the method.
Page = list[Any]


class PromiseOut(serializers.Serializer):
    """One material held for a work; ``there_on`` is when sent orders bring all that it lacks.

    Of a past day it is not kept what was on order: that, and what follows from it, is null.
    """

    material = MaterialName(source="hold.material")
    held = number(source="hold.outstanding")
    covered, lacking = number(), number()
    on_order, to_buy = number(allow_null=True), number(allow_null=True)
    there_on = serializers.DateField(allow_null=True)
    is_late = serializers.BooleanField(allow_null=True)


class WorkOut(serializers.Serializer):
    """All that is held for one work; ``commission`` is its number."""

    commission = serializers.IntegerField(source="commission.number", allow_null=True, default=None)
    label = serializers.CharField()  # type: ignore[assignment]  # what is written out, not the serializer's own
    needed_by = serializers.DateField(allow_null=True)
    is_covered = serializers.BooleanField()
    promises = PromiseOut(many=True)


class Promised(StudioViewSet):
    """Accepted work not poured yet: what is held for it, what is there, what it lacks."""

    model, out = Hold, WorkOut

    @describes(parameters=AS_OF)
    def list(self, request: Request) -> Response:
        day = asked_past_day(self)
        works = promised_on(self.studio, day) if day else promised_works(self.studio)
        return self.page_response(works)

    def with_details(self, page: Page) -> Page:
        commissions = commissions_by_work(self.studio, [work.work_id for work in page])
        for work in page:
            work.commission = commissions.get(work.work_id)
        return page
