"""What the endpoints of one commission share."""

from django.shortcuts import get_object_or_404
from rest_framework.response import Response

from pricing.commissions.api.commissions import CommissionOut, commissions_of
from studio.api.views import StudioView


class CommissionView(StudioView):
    """An endpoint of one commission."""

    def found(self, request, number):
        """Return the commission with this number, or a 404."""
        return get_object_or_404(commissions_of(request.studio), number=number)

    def answer(self, request, number, status=200):
        """Answer with the commission as it is now."""
        return Response(CommissionOut(self.found(request, number)).data, status=status)
