"""The studio and its people."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.response import Response

from studio import people, preferences
from studio.access import members_of
from studio.api.schema import pages_of
from studio.api.serializers import PersonOut, RoleIn, StudioIn, StudioOut
from studio.api.views import StudioView


class StudioEndpoint(StudioView):
    """The studio that the token belongs to."""

    write_role = "owner"

    @extend_schema(operation_id="studio_read", responses=StudioOut)
    def get(self, request):
        """How the studio measures, costs and prices."""
        return Response(StudioOut(request.studio).data)

    @extend_schema(
        operation_id="studio_change", request=StudioIn(partial=True), responses=StudioOut
    )
    def patch(self, request):
        """Change the settings that are named; an owner's token is needed."""
        asked = StudioIn(request.studio, data=request.data, partial=True)
        asked.is_valid(raise_exception=True)
        studio = preferences.change_settings(studio=request.studio, **asked.validated_data)
        return Response(StudioOut(studio).data)


class PeopleEndpoint(StudioView):
    """The members of the studio."""

    read_role = "owner"

    @extend_schema(operation_id="people_list", responses=pages_of(PersonOut))
    def get(self, request):
        """Who belongs to the studio, and what they may do."""
        return self.paginated(members_of(request.studio), PersonOut)


class PersonEndpoint(StudioView):
    """One member of the studio."""

    read_role = write_role = "owner"

    @extend_schema(operation_id="people_change", request=RoleIn, responses=PersonOut)
    def patch(self, request, pk):
        """Change what a member may do; the last owner stays one."""
        membership = get_object_or_404(members_of(request.studio), pk=pk)
        asked = RoleIn(data=request.data)
        asked.is_valid(raise_exception=True)
        membership = people.change_role(membership=membership, **asked.validated_data)
        return Response(PersonOut(membership).data)

    @extend_schema(operation_id="people_remove", request=None, responses={204: None})
    def delete(self, request, pk):
        """Take a member out of the studio, with their tokens."""
        membership = get_object_or_404(members_of(request.studio), pk=pk)
        people.remove_member(membership=membership)
        return Response(status=204)
