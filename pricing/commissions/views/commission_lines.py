"""The lines of a commission: so many pieces of one size, technique and palette."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from pricing.commissions import orders as work
from pricing.commissions.forms.commissions import LineForm, line_initial
from pricing.commissions.likeness import likeness
from pricing.commissions.views.address import palette_in_address, pour_in_address
from pricing.commissions.views.commissions import commission_or_404, page_of
from pricing.models import CommissionLine
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import action, form_page


@member_page("maker")
def line_new(request: StudioRequest, number: int) -> HttpResponse:
    """Add pieces or sets to a commission."""
    commission = commission_or_404(request, number)
    like, palette = pour_in_address(request), palette_in_address(request)
    initial = likeness(like) | ({"palette": palette} if palette else {}) if like else {}
    form = LineForm(request.POST or None, studio=request.studio, initial=initial)
    return form_page(
        request,
        form,
        title="Add pieces",
        template="pricing/commissions/line_form.html",
        act=lambda _: work.add_line(
            commission=commission, by=request.user, like=like, **form.line()
        ),
        done=lambda line: (f"{line} is added.", page_of(commission)),
        button="Add",
        back=page_of(commission),
        like=like,
    )


def _line(request: StudioRequest, number: int, pk: int) -> CommissionLine:
    rows = CommissionLine.objects.filter(
        commission__studio=request.studio, commission__number=number
    )
    return get_object_or_404(rows.select_related("commission__studio"), pk=pk)


@member_page("maker")
def line_edit(request: StudioRequest, number: int, pk: int) -> HttpResponse:
    """Change a line; a quote that is out is superseded."""
    line = _line(request, number, pk)
    form = LineForm(request.POST or None, studio=request.studio, initial=line_initial(line))
    return form_page(
        request,
        form,
        title="Change pieces",
        template="pricing/commissions/line_form.html",
        act=lambda _: work.change_line(line=line, by=request.user, **form.line()),
        done=lambda saved_line: (f"{saved_line} is saved.", page_of(line.commission)),
        back=page_of(line.commission),
        line=line,
    )


@require_POST
@member_page("maker")
def line_remove(request: StudioRequest, number: int, pk: int) -> HttpResponse:
    """Take a line out of a commission."""
    line = _line(request, number, pk)
    here = page_of(line.commission)
    return action(
        request,
        lambda: work.remove_line(line=line, by=request.user),
        lambda _: ("The line is taken out.", here),
        back=here,
    )
