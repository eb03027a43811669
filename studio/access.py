"""Who is asking, for which studio, and what they may do there."""

import zoneinfo
from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeGuard, TypeVar

from django.contrib.auth.decorators import login_required
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

from studio import people
from studio.half_filled import restore
from studio.models import Membership, Studio
from studio.once import repeated
from studio.requests import PageRequest, StudioRequest
from studio.sight import Sight, refusal, seen_by

SESSION_KEY = "studio"
SIGNED_IN = "signed in"

Params = ParamSpec("Params")
View = TypeVar("View", bound=Callable[..., HttpResponseBase])
MemberView = Callable[Concatenate[StudioRequest, Params], HttpResponseBase]
PageView = Callable[Concatenate[PageRequest, Params], HttpResponseBase]


class StudioMiddleware:
    """Put ``request.studio`` and ``request.membership`` on every page request, or None.

    A person in several studios works in the one chosen last; the session remembers it.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: PageRequest) -> HttpResponse:
        request.studio = request.membership = None
        # An API call's token names its studio, a session does not.
        if not request.path.startswith("/api/"):
            membership = current_membership(request)
            if membership:
                work_in(request, membership)
        try:
            return self.get_response(request)
        finally:
            timezone.deactivate()


def work_in(request: HttpRequest, membership: Membership) -> None:
    """Put a person's studio on a request, and let its wall clock read and write the times."""
    vars(request).update(membership=membership, studio=membership.studio)
    timezone.activate(zoneinfo.ZoneInfo(membership.studio.time_zone))


def current_membership(request: PageRequest) -> Membership | None:
    """Return the person's membership of the studio they work in now, or None."""
    if not request.user.is_authenticated:
        return None
    theirs = list(request.user.memberships.select_related("studio"))
    chosen = request.session.get(SESSION_KEY)
    return next(
        (place for place in theirs if place.studio_id == chosen), theirs[0] if theirs else None
    )


def _is_members(request: PageRequest) -> TypeGuard[StudioRequest]:
    """Tell whether the request comes from a member of the studio it is about."""
    return request.membership is not None


class NotSeen(Exception):
    """What was asked for is of a kind that this member does not see."""


def require(membership: Membership, *sights: Sight) -> None:
    """Refuse a member who does not see all of these kinds, with `NotSeen`."""
    for sight in sights:
        if not membership.sees(sight):
            raise NotSeen(refusal(sight))


def opens(membership: Membership, view: Callable[..., object]) -> bool:
    """Tell whether a member may open a page, by what `member_page` noted on it."""
    role, sights = vars(view)["role"], vars(view)["sights"]
    return role == SIGNED_IN or (membership.may(role) and all(map(membership.sees, sights)))


def member_page(role: str, *sights: Sight) -> Callable[[MemberView[Params]], PageView[Params]]:
    """Let a page be used by members with at least ``role`` who see all of ``sights``.

    A stranger is sent to sign in; another member reads who may do or see this. What was sent and
    answered before is answered the same again.
    """

    def decorate(view: MemberView[Params]) -> PageView[Params]:
        @wraps(view)
        @login_required
        def guarded(
            request: PageRequest, *args: Params.args, **kwargs: Params.kwargs
        ) -> HttpResponseBase:
            if not _is_members(request):
                return redirect("start" if people.may_sign_up() else "no-studio")
            if not request.membership.may(role):
                who = f"Only {_who(role)} of {request.studio}"
                return _refused(request, f"{who} can do this. Ask an owner.")
            try:
                require(request.membership, *sights)
                restore(request)
                return repeated(request) or view(request, *args, **kwargs)
            except NotSeen as refused:
                return _refused(request, str(refused), "This isn't shown to you")

        return _with_role(guarded, role, *sights)

    return decorate


def open_page(view: View) -> View:
    """Let a page be used by anyone."""
    return _with_role(view, "anyone")


def signed_in_page(view: View) -> View:
    """Let a page be used by anyone who is signed in, with or without a studio."""
    return _with_role(login_required(view), SIGNED_IN)


def link_page(view: View) -> View:
    """Let a page be used by whoever holds its secret link; the view looks the secret up."""
    return _with_role(never_cache(view), "link holder")


def link_act(view: View) -> View:
    """Let an act be done by whoever holds its secret link, with or without cookies.

    The secret in the address is the proof: nothing of a session is used, so there is nothing that
    a page of somebody else could misuse, and no token of a form to check.
    """
    return csrf_exempt(link_page(view))


def _with_role(view: View, role: str, *sights: Sight) -> View:
    """Return the view with who may use it noted on it, where tests and menus read it."""
    vars(view).update(role=role, sights=sights)
    return view


def _refused(request: PageRequest, sentence: str, title: str = "") -> HttpResponse:
    """Return the page that says who may do or see this."""
    context = {"sentence": sentence, "title": title}
    return TemplateResponse(request, "studio/refused.html", context, status=403).render()


def _who(role: str) -> str:
    return {"owner": "an owner", "maker": "a maker or owner", "viewer": "a member"}[role]


def studio_context(request: HttpRequest) -> dict[str, Any]:
    """Give templates the studio, the person's membership, and the studios to switch between."""
    membership = getattr(request, "membership", None)
    return {
        "studio": getattr(request, "studio", None),
        "membership": membership,
        "may_make": bool(membership and membership.may("maker")),
        "may_own": bool(membership and membership.may("owner")),
        "sees": seen_by(membership),
    }


def members_of(studio: Studio) -> QuerySet[Membership]:
    """Return the memberships of a studio with their people."""
    return Membership.objects.filter(studio=studio).select_related("user")
