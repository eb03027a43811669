"""Lists of simple rows that a studio keeps: shown, added to, changed, put away."""

from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from studio.access import member_page
from studio.views.form_page import form_page


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
    ):
        self.name, self.plural, self.title, self.lede = name, plural, title, lede
        self.form_class, self.rows, self.row_template = form_class, rows, row_template
        self.icon, self.empty, self.role, self.can_add = icon, empty, role, can_add
        self.form_template = form_template

    @property
    def word(self):
        return self.form_class._meta.model._meta.verbose_name

    def list(self, request):
        """List the rows."""
        page = Paginator(self.rows(request.studio), 50).get_page(request.GET.get("page"))
        may_change = request.membership.may(self.role)
        context = {"register": self, "page": page, "may_change": may_change}
        return render(request, "studio/register.html", context)

    def new(self, request):
        """Add a row."""
        return self._form(request, None, f"New {self.word}")

    def edit(self, request, pk):
        """Change a row."""
        found = get_object_or_404(self.rows(request.studio), pk=pk)
        return self._form(request, found, f"Change {found}")

    def archive(self, request, pk):
        """Put a row away; what refers to it keeps it."""
        found = get_object_or_404(self.rows(request.studio), pk=pk)
        found.archived_at = timezone.now()
        found.save(update_fields=["archived_at"])
        return redirect(self.plural)

    def _form(self, request, found, title):
        form = self.form_class(request.POST or None, instance=found, studio=request.studio)
        archive = found and hasattr(found, "archived_at")
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
            path(prefix, require_GET(member_page("viewer")(self.list)), name=self.plural),
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
