"""Lists of simple rows that a studio keeps: shown, added to, changed, archived."""

from collections.abc import Callable, Sequence
from typing import Any

from django.core.exceptions import FieldDoesNotExist
from django.db.models import Model, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from studio import rows
from studio.access import member_page
from studio.model_forms import StudioModelForm
from studio.models import Studio
from studio.requests import StudioRequest
from studio.sight import Sight
from studio.views.form_page import action, form_page
from studio.views.lists import page_of


def put_away(request: StudioRequest, row: Any, back: str) -> HttpResponse:
    """Put a row away or bring it back, and go on to the page ``back``."""

    def act() -> None:
        rows.put_away(row=row, at=None if row.archived_at else timezone.now())

    def done(_: None) -> tuple[str, str]:
        return f"{row} is {'archived' if row.archived_at else 'back on the list'}.", back

    return action(request, act, done, back=back)


class Register:
    """The four pages of one kind of row.

    Parameters
    ----------
    name, plural : str
        URL names: the list is ``plural``, the others start with ``name``.
    title, lede : str
        What the list is called, and one sentence on what it is for.
    form_class : type
        A `StudioModelForm`.
    rows : callable
        Takes a studio and returns its rows, none of them archived.
    row_template : str
        Draws one row, called ``row``.
    icon, empty : str
        What an empty list shows and says.
    role : str
        Who may add and change.
    sights : tuple of Sight
        Kinds of knowledge that all of it is of.
    can_add : bool
        Clear when the rows come with the studio.
    form_template : str
        Draws the page of the form.
    prepare : callable, optional
        Takes a studio and a list of its rows, and puts on them what a template shows besides.
    filled_in : sequence of str
        Fields of a new row that the address may fill in.
    save : callable, optional
        Takes the request and the form once it is valid, calls a service and returns the row;
        without it, the form saves itself.
    """

    def __init__(
        self,
        *,
        name: str,
        plural: str,
        title: str,
        lede: str,
        form_class: type[StudioModelForm],
        rows: Callable[[Studio], QuerySet[Any]],
        row_template: str,
        icon: str,
        empty: str,
        role: str = "maker",
        sights: tuple[Sight, ...] = (),
        can_add: bool = True,
        form_template: str = "studio/form_page.html",
        prepare: Callable[[Studio, list[Any]], None] | None = None,
        filled_in: Sequence[str] = (),
        save: Callable[[StudioRequest, Any], Any] = lambda _, form: form.save(),
    ) -> None:
        self.name, self.plural, self.title, self.lede = name, plural, title, lede
        self.form_class, self.rows, self.row_template = form_class, rows, row_template
        self.icon, self.empty, self.role, self.can_add = icon, empty, role, can_add
        self.sights = sights
        self.form_template, self.prepare = form_template, prepare
        self.filled_in, self.save = filled_in, save

    @property
    def model(self) -> type[Model]:
        return self.form_class._meta.model

    @property
    def word(self) -> str:
        return str(self.model._meta.verbose_name)

    @property
    def new_page(self) -> str:
        """The name of the page that adds a row, where rows can be added."""
        return f"{self.name}-new" if self.can_add else ""

    @property
    def may_put_away(self) -> bool:
        """Whether such rows are archived rather than deleted."""
        try:
            return self.can_add and bool(self.model._meta.get_field("archived_at"))
        except FieldDoesNotExist:
            return False

    def put_away(self, studio: Studio) -> QuerySet[Any]:
        """Return the rows that were archived."""
        return self.model._default_manager.filter(studio=studio, archived_at__isnull=False)

    def list(self, request: StudioRequest) -> HttpResponse:
        """List the rows, or those that were archived."""
        away = self.may_put_away and "away" in request.GET
        page = page_of(request, (self.put_away if away else self.rows)(request.studio))
        if self.prepare:
            page.object_list = list(page.object_list)
            self.prepare(request.studio, page.object_list)
        context = {
            "register": self,
            "page": page,
            "may_change": request.membership.may(self.role),
            "away": away,
        }
        return render(request, "studio/register.html", context)

    def new(self, request: StudioRequest) -> HttpResponse:
        """Add a row."""
        return self._form(request, None, f"New {self.word}")

    def edit(self, request: StudioRequest, pk: int) -> HttpResponse:
        """Change a row."""
        row = get_object_or_404(self.rows(request.studio), pk=pk)
        if self.prepare:
            self.prepare(request.studio, [row])
        return self._form(request, row, f"Change {row}")

    def archive(self, request: StudioRequest, pk: int) -> HttpResponse:
        """Put a row away, or bring it back; what refers to it keeps it."""
        row = get_object_or_404(self.model, studio=request.studio, pk=pk)
        return put_away(request, row, back=reverse(self.plural))

    def _form(self, request: StudioRequest, row: Any, title: str) -> HttpResponse:
        asked = {} if row else {n: t for n, t in request.GET.items() if n in self.filled_in}
        form = self.form_class(
            request.POST or None, instance=row, studio=request.studio, initial=asked
        )
        archive = row and self.may_put_away
        return form_page(
            request,
            form,
            template=self.form_template,
            title=title,
            act=lambda _: self.save(request, form),
            done=lambda saved_row: (f"{saved_row} is saved.", reverse(self.plural)),
            back=reverse(self.plural),
            back_label=self.title,
            archive=reverse(f"{self.name}-archive", args=[row.pk]) if archive else "",
        )

    def urls(self, prefix: str) -> Sequence[URLPattern]:
        """Return the URL patterns of the pages under ``prefix``."""
        changes = member_page(self.role, *self.sights)
        patterns = [
            path(
                prefix,
                require_safe(member_page("viewer", *self.sights)(self.list)),
                name=self.plural,
            ),
            path(f"{prefix}<int:pk>/edit/", changes(self.edit), name=f"{self.name}-edit"),
        ]
        if self.can_add:
            patterns += [
                path(f"{prefix}new/", changes(self.new), name=f"{self.name}-new"),
                path(
                    f"{prefix}<int:pk>/archive/",
                    require_POST(changes(self.archive)),
                    name=f"{self.name}-archive",
                ),
            ]
        return patterns
