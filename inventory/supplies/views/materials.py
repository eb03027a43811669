"""Materials: written down, changed, archived."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory.models import Material
from inventory.supplies.forms.materials import MaterialForm
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import form_page
from studio.views.registers import put_away


def _form(
    request: StudioRequest, material: Material | None, title: str, back: str, message: str
) -> HttpResponse:
    return form_page(
        request,
        form := MaterialForm(request.POST or None, instance=material, studio=request.studio),
        template="inventory/supplies/material_form.html",
        title=title,
        act=lambda _: form.save(),
        done=lambda saved_material: (
            message.format(saved_material),
            reverse("material", args=[saved_material.pk]),
        ),
        back=back,
    )


@member_page("maker")
def material_new(request: StudioRequest) -> HttpResponse:
    """Add a material."""
    message = "{} is on the list. Receive what you have of it."
    return _form(request, None, "New material", reverse("materials"), message)


@member_page("maker")
def material_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Change what is said of a material, never what is on the shelf."""
    material = get_object_or_404(request.studio.materials, pk=pk)
    material_url = reverse("material", args=[pk])
    return _form(request, material, f"Change {material}", material_url, "{} is saved.")


@require_POST
@member_page("maker")
def material_archive(request: StudioRequest, pk: int) -> HttpResponse:
    """Put a material away, or bring it back; its history stays."""
    material = get_object_or_404(request.studio.materials, pk=pk)
    return put_away(request, material, back=reverse("material", args=[pk]))
