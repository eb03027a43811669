"""Tokens and roles: who may call the API, and for which studio."""

from typing import TYPE_CHECKING

from django.contrib.auth.models import User
from knox.auth import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request

from studio.access import work_in
from studio.models import ApiToken, Membership
from studio.sight import Sight, refusal

if TYPE_CHECKING:
    from rest_framework.views import APIView  # which asks for this module as it is made


class StudioTokenAuthentication(TokenAuthentication):
    """Sign a request in by its token, and put the token's studio on it as ``request.studio``."""

    def authenticate(self, request: Request) -> tuple[User, ApiToken] | None:
        signed_in = super().authenticate(request)
        if signed_in is None:
            return None
        user, token = signed_in
        membership = (
            Membership.objects.select_related("studio")
            .filter(user=user, studio_id=token.studio_id)
            .first()
        )
        if membership is None:
            raise AuthenticationFailed("This token's owner no longer belongs to its studio.")
        work_in(request._request, membership)
        return user, token


class RolePermission(BasePermission):
    """Reading needs the view's ``read_role`` (viewer), writing its ``write_role`` (maker).

    Either needs that all the kinds are seen which the answer is wholly of, see `studio.sight`.
    """

    message = "Your role in this studio does not allow this. Ask an owner."

    def has_permission(self, request: Request, view: "APIView") -> bool:
        membership = getattr(request, "membership", None)
        if membership is None or not membership.may(least_role(view, request.method)):
            return False
        for sight in sights_of(view, request.method):
            if not membership.sees(sight):
                self.message = refusal(sight)
                return False
        return True


def least_role(view: "APIView", method: str | None) -> str:
    """Return the least role that may ask this of a view."""
    action, role_of = getattr(view, "action", None), getattr(view, "role_of", None)
    if action and role_of:
        return role_of(action, method)
    if method in SAFE_METHODS:
        return getattr(view, "read_role", "viewer")
    return getattr(view, "write_role", "maker")


def sights_of(view: "APIView", method: str | None) -> tuple[Sight, ...]:
    """Return the kinds of knowledge that must be seen to ask this of a view."""
    action, sights_of_action = getattr(view, "action", None), getattr(view, "sights_of", None)
    return sights_of_action(action, method) if action and sights_of_action else ()
