"""Tokens: keys with which another program may use the studio."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from studio import tokens
from studio.access import member_page
from studio.forms import NewToken
from studio.requests import StudioRequest


@member_page("viewer")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def tokens_page(request: StudioRequest) -> HttpResponse:
    """List tokens and make one, whose secret is shown this once."""
    form = NewToken(request.POST or None)
    secret = ""
    if request.method == "POST" and form.is_valid():
        try:
            _, secret = tokens.create_token(
                studio=request.studio, user=request.user, **form.cleaned_data
            )
        except tokens.LabelTaken as error:
            form.add_error("label", str(error))
        else:
            form = NewToken()
    context = {"form": form, "secret": secret, "tokens": tokens.tokens_for(request.membership)}
    return render(request, "studio/tokens.html", context, status=422 if form.errors else 200)


@member_page("viewer")
@require_POST
def revoke_token(request: StudioRequest) -> HttpResponse:
    """Make a token stop working; a member revokes their own, an owner anybody's."""
    mine = tokens.tokens_for(request.membership)
    token = get_object_or_404(mine, label=request.POST.get("label", ""))
    tokens.revoke_token(token=token)
    messages.success(request, f"“{token.label}” no longer works.")
    return redirect("tokens")
