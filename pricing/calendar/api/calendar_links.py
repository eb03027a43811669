"""Private addresses of the calendar feed."""

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.response import Response

from pricing.calendar import calendar_links
from pricing.calendar.views.schedule import address_of_feed
from pricing.models import CalendarLink
from studio.api.acts import act, nothing
from studio.api.rows import RowOut
from studio.api.viewsets import Listed, Removed
from studio.requests import ApiRequest
from studio.site import BEGINS


class CalendarLinkOut(RowOut):
    user = serializers.CharField(source="user.username")

    class Meta:
        model = CalendarLink
        fields = read_only_fields = ("id", "user", "created_at")


class NewCalendarLinkOut(serializers.Serializer):
    """A feed's private address; ``url`` is shown this once and kept nowhere."""

    id = serializers.IntegerField()
    url = serializers.URLField(help_text=BEGINS)


class CalendarLinks(Listed, Removed):
    """The feed addresses that work: one's own, for an owner everybody's."""

    model, out = CalendarLink, CalendarLinkOut
    takes = None  # type: ignore[assignment]  # nothing is sent
    read_role, write_role = "maker", "owner"
    tell_secrets = ("create",)

    def rows(self) -> QuerySet[CalendarLink]:
        return calendar_links.links_seen_by(self.request.membership)

    def create(self, request: ApiRequest) -> Response:
        """Make one's own feed address; an earlier one stops working."""
        nothing(request)
        link, secret = calendar_links.make_calendar_link(studio=self.studio, user=request.user)
        answered = {"id": link.pk, "url": address_of_feed(secret)}
        return self.response_of(answered, NewCalendarLinkOut, status=201)

    vars(create).update(gives=NewCalendarLinkOut, role="maker")

    @act(on_row=False, status=204, role="maker")
    def stop(self) -> Response:
        """Make one's own feed address stop working; harmless when there is none."""
        for link in self.rows().filter(user=self.request.user):
            calendar_links.revoke_calendar_link(link=link)
        return Response(status=204)

    def remove(self, link: CalendarLink) -> None:
        """Make anybody's address stop working."""
        calendar_links.revoke_calendar_link(link=link)
