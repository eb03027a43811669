"""The studio's settings."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from studio import preferences
from studio.access import member_page
from studio.models import Studio
from studio.requests import StudioRequest
from studio.settings_form import StudioSettings


@member_page("owner")
@require_http_methods(["GET", "HEAD", "POST"])
def studio_settings(request: StudioRequest) -> HttpResponse:
    """Show and change how the studio measures, costs and prices."""
    # A fresh copy: a form that fails leaves its half-filled studio out of the page's frame.
    form = StudioSettings(request.POST or None, instance=Studio.objects.get(pk=request.studio.pk))
    if request.method == "POST" and form.is_valid():
        preferences.change_settings(studio=request.studio, **form.changes())
        messages.success(request, "The settings were saved.")
        return redirect("studio-settings")
    return render(
        request, "studio/settings.html", {"form": form}, status=422 if form.errors else 200
    )
