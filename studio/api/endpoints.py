"""The studio and its people."""

from django.db.models import QuerySet
from rest_framework.serializers import BaseSerializer

from studio import people, preferences
from studio.access import members_of
from studio.api.serializers import PersonOut, RoleIn, StudioIn, StudioOut
from studio.api.viewsets import Changed, Listed, Read, Removed
from studio.models import Membership, Studio


class StudioEndpoint(Read, Changed):
    """The studio that the token belongs to: how it measures, costs and prices."""

    model, out, takes = Studio, StudioOut, StudioIn
    write_role = "owner"

    def rows(self) -> QuerySet[Studio]:
        return Studio.objects.filter(pk=self.studio.pk)

    def row(self, *, lock: bool = False) -> Studio:
        rows = self.rows().select_for_update() if lock else self.rows()
        return rows.get()

    def change(self, row: Studio, sent: BaseSerializer) -> Studio:
        return preferences.change_settings(studio=row, **sent.validated_data)


class PeopleEndpoint(Listed, Read, Changed, Removed):
    """Who belongs to the studio, and what they may do."""

    model, out, takes = Membership, PersonOut, RoleIn
    read_role = write_role = "owner"
    partial = False

    def rows(self) -> QuerySet[Membership]:
        return members_of(self.studio)

    def change(self, row: Membership, sent: BaseSerializer) -> Membership:
        return people.change_role(membership=row, **sent.validated_data)

    def remove(self, row: Membership) -> None:
        """Take a member out of the studio, with their tokens."""
        people.remove_member(membership=row)
