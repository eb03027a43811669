"""Tokens and roles: who may call the API, and for which studio."""

from knox.auth import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import SAFE_METHODS, BasePermission

from studio.access import work_in
from studio.models import Membership


class StudioTokenAuthentication(TokenAuthentication):
    """Sign a request in by its token, and put the token's studio on it as ``request.studio``."""

    def authenticate(self, request):
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
    """Reading needs the view's ``read_role`` (viewer), writing its ``write_role`` (maker)."""

    message = "Your role in this studio does not allow this. Ask an owner."

    def has_permission(self, request, view):
        membership = getattr(request, "membership", None)
        if membership is None:
            return False
        return membership.may(least_role(view, request.method))


def least_role(view, method):
    """Return the least role that may ask this of a view."""
    if getattr(view, "action", None) and hasattr(view, "role_of"):
        return view.role_of(view.action, method)
    if method in SAFE_METHODS:
        return getattr(view, "read_role", "viewer")
    return getattr(view, "write_role", "maker")
