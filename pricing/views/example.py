"""An example beside one's own studio: opened, and removed whole."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from pricing.demo.example import open_example, remove_example
from studio.access import SESSION_KEY, member_page
from studio.errors import StudioError
from studio.requests import StudioRequest


@require_POST
@member_page("owner")
def example_open(request: StudioRequest) -> HttpResponse:
    """Open an example of one's own, and work in it."""
    studio = open_example(user=request.user)
    request.session[SESSION_KEY] = studio.pk
    messages.success(request, f"You are now in “{studio}”. Nothing here touches your own studio.")
    return redirect("home")


@require_POST
@member_page("owner")
def example_remove(request: StudioRequest) -> HttpResponse:
    """Remove the example whole, and go back to one's own studio."""
    try:
        remove_example(studio=request.studio)
    except StudioError as error:
        messages.error(request, str(error))
    else:
        request.session.pop(SESSION_KEY, None)
        messages.success(request, "The example is gone, with everything in it.")
    return redirect("home")
