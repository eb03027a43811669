"""Requests as the views get them: who asks, and for which studio."""

from django.contrib.auth.models import User
from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails
from rest_framework.request import Request

from studio.models import Membership, Studio


class PageRequest(HttpRequest):
    """A request of a page, perhaps of somebody who belongs to no studio."""

    studio: Studio | None
    membership: Membership | None
    htmx: HtmxDetails


class SignedInRequest(PageRequest):
    """A request of a page by somebody who is signed in."""

    user: User


class StudioRequest(SignedInRequest):
    """A request of a page by a member, as `studio.access.member_page` lets it through."""

    studio: Studio
    membership: Membership


class ApiRequest(Request):
    """A request of the API by a member, whose token `studio.api.auth` has read."""

    studio: Studio
    membership: Membership
    user: User
