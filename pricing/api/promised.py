"""What is promised to accepted work, and what each work still lacks."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.api.materials import MaterialName
from inventory.stock.promised import promised
from pricing.commissions.promises import by_work
from studio.api.schema import pages_of
from studio.api.views import StudioView


def number():
    return serializers.DecimalField(14, 4)


class PromiseOut(serializers.Serializer):
    """One material held for a work; ``there_on`` is when sent orders bring all that it lacks."""

    material = MaterialName(source="hold.material")
    held = serializers.DecimalField(14, 4, source="hold.outstanding")
    covered, lacking, on_order, to_buy = number(), number(), number(), number()
    there_on = serializers.DateField(allow_null=True)
    is_late = serializers.BooleanField()


class WorkOut(serializers.Serializer):
    """All that is held for one work; ``commission`` is its number."""

    commission = serializers.SerializerMethodField()
    label = serializers.CharField()
    needed_by = serializers.DateField(allow_null=True)
    is_covered = serializers.BooleanField()
    promises = PromiseOut(many=True)

    def get_commission(self, work) -> int | None:
        return work.commission and work.commission.number


class PromisedEndpoint(StudioView):
    """What is promised."""

    @extend_schema(operation_id="promised_list", responses=pages_of(WorkOut))
    def get(self, request):
        """List accepted work not poured yet: what is held for it, what is there, what it lacks."""

        def named(page):
            commissions = by_work(request.studio, [work.work_id for work in page])
            for work in page:
                work.commission = commissions.get(work.work_id)
            return page

        return self.paginated(promised(request.studio), WorkOut, prepare=named)
