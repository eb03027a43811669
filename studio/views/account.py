"""Signing in, starting a studio, choosing one, and the list of all pages."""

from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.forms import PasswordChangeForm, SetPasswordForm
from django.contrib.auth.models import User
from django.contrib.auth.views import (
    INTERNAL_RESET_SESSION_TOKEN,
    LoginView,
    LogoutView,
    PasswordChangeView,
    PasswordResetConfirmView,
)
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studio import passwords, people, preferences
from studio.access import SESSION_KEY, link_page, member_page, open_page, signed_in_page
from studio.cautions import CAUTIONS, FIRST, cautions_of
from studio.forms import (
    ForgottenPassword,
    NewPassword,
    NewStudio,
    NewStudioAndAccount,
    PasswordChange,
    SignIn,
)
from studio.models import Studio
from studio.requests import PageRequest, SignedInRequest, StudioRequest

BACKEND = "django.contrib.auth.backends.ModelBackend"

# Names of the pages on which somebody goes on who has just opened a studio: an app above adds its
# own, and the last one counts.
opened_at: list[str] = []


class _SignIn(LoginView):
    template_name = "studio/sign_in.html"
    authentication_form = SignIn
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**kwargs) | {"open_sign_up": people.may_sign_up()}


sign_in = open_page(_SignIn.as_view())
sign_out = open_page(LogoutView.as_view())


class _PasswordChange(PasswordChangeView):
    form_class = PasswordChange
    template_name = "studio/password.html"
    success_url = reverse_lazy("password")

    def form_valid(self, form: PasswordChangeForm) -> HttpResponse:
        messages.success(self.request, "Your password was changed.")
        return super().form_valid(form)


password = signed_in_page(_PasswordChange.as_view())


@open_page
@require_http_methods(["GET", "HEAD", "POST"])
def forgotten(request: PageRequest) -> HttpResponse:
    """Send somebody the link to a new password; the answer is the same whoever asks."""
    form = ForgottenPassword(request.POST or None)
    context = {"form": form, "sends_mail": settings.SENDS_MAIL}
    if request.method == "POST" and form.is_valid() and settings.SENDS_MAIL:
        passwords.send_way_in(email=form.cleaned_data["email"])
        context["sent_to"] = form.cleaned_data["email"]
    status = 422 if form.errors else 200
    return render(request, "studio/forgotten.html", context, status=status)


class _NewPassword(PasswordResetConfirmView):
    form_class = NewPassword
    template_name = "studio/new_password.html"

    def form_valid(self, form: "SetPasswordForm[User]") -> HttpResponse:
        passwords.choose(user=form.user, password=form.cleaned_data["new_password1"])
        del self.request.session[INTERNAL_RESET_SESSION_TOKEN]
        messages.success(self.request, "Your password was changed. Sign in with it.")
        return redirect("sign-in")


new_password = link_page(_NewPassword.as_view())


@open_page
@require_http_methods(["GET", "HEAD", "POST"])
def start(request: PageRequest) -> HttpResponse:
    """Open a studio, with an account for somebody new."""
    if not people.may_sign_up():
        return redirect(settings.LOGIN_REDIRECT_URL if request.user.is_authenticated else "sign-in")
    kind = NewStudio if request.user.is_authenticated else NewStudioAndAccount
    form = kind(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            studio = _opened(request, form.cleaned_data)
        except people.AccountTaken as error:
            form.add_error("email", str(error))
        except people.NameTaken as error:
            form.add_error("studio_name", str(error))
        else:
            request.session[SESSION_KEY] = studio.pk
            messages.success(request, f"{studio} is open.")
            return redirect([settings.LOGIN_REDIRECT_URL, *opened_at][-1])
    return render(request, "studio/start.html", {"form": form}, status=422 if form.errors else 200)


def _opened(request: PageRequest, answers: Mapping[str, Any]) -> Studio:
    choices = preferences.beginnings("other")
    name = answers["studio_name"]
    if request.user.is_authenticated:
        return people.open_studio(user=request.user, name=name, **choices)
    studio, user = people.open_with_new_account(
        email=answers["email"],
        password=answers["password"],
        person=answers["person"],
        name=name,
        **choices,
    )
    login(request, user, backend=BACKEND)
    return studio


@signed_in_page
@require_safe
def no_studio(request: SignedInRequest) -> HttpResponse:
    """Say what to do to somebody who belongs to no studio."""
    return render(request, "studio/no_studio.html", {"open_sign_up": people.may_sign_up()})


@member_page("viewer")
@require_safe
def studios(request: StudioRequest) -> HttpResponse:
    """List the studios a person belongs to."""
    theirs = request.user.memberships.select_related("studio")
    context = {"memberships": theirs, "open_sign_up": people.may_sign_up()}
    return render(request, "studio/studios.html", context)


@signed_in_page
@require_POST
def switch_studio(request: SignedInRequest, pk: int) -> HttpResponse:
    """Work in another of one's studios from now on."""
    membership = get_object_or_404(request.user.memberships.select_related("studio"), studio_id=pk)
    request.session[SESSION_KEY] = membership.studio_id
    messages.success(request, f"You are now in {membership.studio}.")
    return redirect(settings.LOGIN_REDIRECT_URL)


@open_page
@require_safe
def safety(request: PageRequest) -> HttpResponse:
    """List what can hurt, act by act."""
    context = {"cautions": cautions_of(*CAUTIONS), "first": FIRST}
    return render(request, "studio/safety.html", context)


@member_page("viewer")
@require_safe
def more(request: StudioRequest) -> HttpResponse:
    """List every page, for a phone whose bar has room for five."""
    return render(request, "studio/more.html")
