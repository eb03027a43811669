"""Who belongs to the studio, and the link that lets somebody join."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studio import people, sight
from studio.access import SESSION_KEY, link_page, member_page, members_of
from studio.errors import StudioError
from studio.forms import TRUST, AccountForm, InvitePerson, RoleChoice
from studio.models import Membership
from studio.models.people import Role
from studio.requests import PageRequest, StudioRequest
from studio.site import address
from studio.views.account import BACKEND


@member_page("owner")
@require_safe
def people_page(request: StudioRequest) -> HttpResponse:
    """List members and open invitations."""
    members = list(members_of(request.studio))
    owners = [member.pk for member in members if member.role == "owner"]
    context = {
        "members": members,
        "only_owner": owners[0] if len(owners) == 1 else None,
        "invitations": people.open_invitations(request.studio),
        "roles": Role.choices,
        "trust": TRUST,
        "sights": sight.in_words(),
    }
    return render(request, "studio/people.html", context)


@member_page("owner")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def invite(request: StudioRequest) -> HttpResponse:
    """Invite somebody and show the link once."""
    form = InvitePerson(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            invitation, secret = people.invite(
                studio=request.studio, by=request.user, **form.cleaned_data
            )
        except people.AlreadyMember as error:
            form.add_error("email", str(error))
        else:
            link = address(reverse("join", args=[secret]))
            context = {"invitation": invitation, "link": link}
            return render(request, "studio/invited.html", context)
    return render(request, "studio/invite.html", {"form": form}, status=422 if form.errors else 200)


@member_page("owner")
@require_POST
def withdraw_invitation(request: StudioRequest, pk: int) -> HttpResponse:
    """Make an invitation's link stop working."""
    invitation = get_object_or_404(people.open_invitations(request.studio), pk=pk)
    people.withdraw_invitation(invitation=invitation)
    messages.success(request, f"The link sent to {invitation.email} no longer works.")
    return redirect("people")


@member_page("owner")
@require_POST
def change_role(request: StudioRequest, pk: int) -> HttpResponse:
    """Change what a member may do."""
    membership = get_object_or_404(members_of(request.studio), pk=pk)
    form = RoleChoice(request.POST)
    if not form.is_valid():
        raise StudioError("Choose owner, maker or viewer.")
    membership = people.change_role(membership=membership, **form.cleaned_data)
    messages.success(request, f"{membership.user} is now {membership.in_words}.")
    return redirect("people")


@member_page("owner")
@require_POST
def remove_member(request: StudioRequest, pk: int) -> HttpResponse:
    """Take a member out of the studio."""
    membership = get_object_or_404(members_of(request.studio), pk=pk)
    people.remove_member(membership=membership)
    messages.success(request, f"{membership.user} no longer belongs to {request.studio}.")
    return redirect(settings.LOGIN_REDIRECT_URL if membership.user == request.user else "people")


@link_page
@require_http_methods(["GET", "HEAD", "POST"])
def join(request: PageRequest, secret: str) -> HttpResponse:
    """Accept an invitation, with an account that exists or a new one."""
    try:
        invitation = people.invitation_of(secret)
    except people.InvitationGone as error:
        raise Http404(str(error)) from error
    is_signed_in = request.user.is_authenticated
    form = AccountForm(request.POST or None, initial={"email": invitation.email})
    if request.method == "POST" and (is_signed_in or form.is_valid()):
        try:
            membership = _joined(request, secret, form)
        except people.AccountTaken as error:
            form.add_error("email", str(error))
        else:
            request.session[SESSION_KEY] = membership.studio_id
            messages.success(request, f"Welcome to {invitation.studio}.")
            return redirect(settings.LOGIN_REDIRECT_URL)
    context = {"invitation": invitation, "form": None if is_signed_in else form}
    return render(request, "studio/join.html", context, status=422 if form.errors else 200)


def _joined(request: PageRequest, secret: str, form: AccountForm) -> Membership:
    if request.user.is_authenticated:
        return people.accept_invitation(secret=secret, user=request.user)
    membership = people.join_with_new_account(
        secret=secret,
        email=form.cleaned_data["email"],
        password=form.cleaned_data["password"],
        name=form.cleaned_data["person"],
    )
    login(request, membership.user, backend=BACKEND)
    return membership
