"""Who is asking, for which studio, and what they may do there."""

import zoneinfo
from functools import wraps

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

from studio.models import Membership
from studio.once import repeated

SESSION_KEY = "studio"


class StudioMiddleware:
    """Put ``request.studio`` and ``request.membership`` on every page request, or None.

    A person in several studios works in the one chosen last; the session remembers it.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.studio = request.membership = None
        # An API call's token names its studio, a session does not.
        if not request.path.startswith("/api/") and request.user.is_authenticated:
            membership = current_membership(request)
            if membership:
                work_in(request, membership)
        try:
            return self.get_response(request)
        finally:
            timezone.deactivate()


def work_in(request, membership):
    """Put a person's studio on a request, and let its wall clock read and write the times."""
    request.membership, request.studio = membership, membership.studio
    timezone.activate(zoneinfo.ZoneInfo(membership.studio.time_zone))


def current_membership(request):
    """Return the person's membership of the studio they work in now, or None."""
    theirs = list(request.user.memberships.select_related("studio"))
    chosen = request.session.get(SESSION_KEY)
    return next((one for one in theirs if one.studio_id == chosen), theirs[0] if theirs else None)


def member_page(role):
    """Let a page be used by members with at least ``role``.

    A stranger is sent to sign in; a member without the role reads who may do this. What was sent
    and answered before is answered the same again.
    """

    def decorate(view):
        @wraps(view)
        @login_required
        def guarded(request, *args, **kwargs):
            if request.membership is None:
                return redirect("start" if settings.OPEN_SIGN_UP else "no-studio")
            if not request.membership.may(role):
                sentence = f"Only {_who(role)} of {request.studio} can do this. Ask an owner."
                page = TemplateResponse(
                    request, "studio/refused.html", {"sentence": sentence}, status=403
                )
                return page.render()
            return repeated(request) or view(request, *args, **kwargs)

        guarded.role = role
        return guarded

    return decorate


def open_page(view):
    """Let a page be used by anyone."""
    view.role = "anyone"
    return view


def signed_in_page(view):
    """Let a page be used by anyone who is signed in, with or without a studio."""
    guarded = login_required(view)
    guarded.role = "signed in"
    return guarded


def link_page(view):
    """Let a page be used by whoever holds its secret link; the view looks the secret up."""
    guarded = never_cache(view)
    guarded.role = "link holder"
    return guarded


def link_act(view):
    """Let an act be done by whoever holds its secret link, with or without cookies.

    The secret in the address is the proof: nothing of a session is used, so there is nothing that
    a page of somebody else could misuse, and no token of a form to check.
    """
    return csrf_exempt(link_page(view))


def _who(role):
    return {"owner": "an owner", "maker": "a maker or owner", "viewer": "a member"}[role]


def studio_context(request):
    """Give templates the studio, the person's membership, and the studios to switch between."""
    membership = getattr(request, "membership", None)
    return {
        "studio": getattr(request, "studio", None),
        "membership": membership,
        "may_make": bool(membership and membership.may("maker")),
        "may_own": bool(membership and membership.may("owner")),
    }


def members_of(studio):
    """Return the memberships of a studio with their people."""
    return Membership.objects.filter(studio=studio).select_related("user")
