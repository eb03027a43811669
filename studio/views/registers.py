"""Lists of simple rows that a studio keeps: shown, added to, changed, put away."""

from django.core.exceptions import FieldDoesNotExist
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from studio import rows
from studio.access import member_page
from studio.views.form_page import action, form_page
from studio.views.lists import page_of


def put_away(request, found, back):
    """Put a row away or bring it back, and go on to the page ``back``."""

    def act():
        rows.put_away(row=found, at=None if found.archived_at else timezone.now())

    def done(_):
        return f"{found} is {'put away' if found.archived_at else 'back on the list'}.", back

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
    can_add : bool
        Clear when the rows come with the studio.
    form_template : str
        Draws the page of the form.
    prepare : callable, optional
        Takes a studio and a list of its rows, and puts on them what a template shows besides.
    """

    def __init__(
        self,
        *,
        name,
        plural,
        title,
        lede,
        form_class,
        rows,
        row_template,
        icon,
        empty,
        role="maker",
        can_add=True,
        form_template="studio/form_page.html",
        prepare=None,
    ):
        self.name, self.plural, self.title, self.lede = name, plural, title, lede
        self.form_class, self.rows, self.row_template = form_class, rows, row_template
        self.icon, self.empty, self.role, self.can_add = icon, empty, role, can_add
        self.form_template, self.prepare = form_template, prepare

    @property
    def model(self):
        return self.form_class._meta.model

    @property
    def word(self):
        return self.model._meta.verbose_name

    @property
    def may_put_away(self):
        """Whether such rows are put away rather than deleted."""
        try:
            return self.can_add and bool(self.model._meta.get_field("archived_at"))
        except FieldDoesNotExist:
            return False

    def put_away(self, studio):
        """Return the rows that were put away."""
        return self.model.objects.filter(studio=studio, archived_at__isnull=False)

    def list(self, request):
        """List the rows, or those that were put away."""
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

    def new(self, request):
        """Add a row."""
        return self._form(request, None, f"New {self.word}")

    def edit(self, request, pk):
        """Change a row."""
        found = get_object_or_404(self.rows(request.studio), pk=pk)
        if self.prepare:
            self.prepare(request.studio, [found])
        return self._form(request, found, f"Change {found}")

    def archive(self, request, pk):
        """Put a row away, or bring it back; what refers to it keeps it."""
        found = get_object_or_404(self.model, studio=request.studio, pk=pk)
        return put_away(request, found, back=reverse(self.plural))

    def _form(self, request, found, title):
        form = self.form_class(request.POST or None, instance=found, studio=request.studio)
        archive = found and self.may_put_away
        return form_page(
            request,
            form,
            template=self.form_template,
            title=title,
            act=lambda _: form.save(),
            done=lambda kept: (f"{kept} is saved.", reverse(self.plural)),
            back=reverse(self.plural),
            back_label=self.title,
            archive=reverse(f"{self.name}-archive", args=[found.pk]) if archive else "",
        )

    def urls(self, prefix):
        """Return the URL patterns of the pages under ``prefix``."""
        changes = member_page(self.role)
        patterns = [
            path(prefix, require_safe(member_page("viewer")(self.list)), name=self.plural),
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
