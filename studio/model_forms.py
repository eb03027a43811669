"""Forms for rows that belong to a studio."""

from django import forms


class StudioModelForm(forms.ModelForm):
    """A model form that knows its studio.

    Choices offer only the studio's own rows (and none that are archived, unless chosen before), and
    a name that the studio already uses is refused beside its field instead of by the database.
    """

    def __init__(self, *args, studio, **kwargs):
        super().__init__(*args, **kwargs)
        self.studio = studio
        self.instance.studio = studio
        for name, field in self.fields.items():
            if isinstance(field, forms.ModelChoiceField):
                field.queryset = own_choices(
                    field.queryset, studio, keep=getattr(self.instance, f"{name}_id", None)
                )

    def _get_validation_exclusions(self):
        return super()._get_validation_exclusions() - {"studio"}


def own_choices(queryset, studio, keep=None):
    """Narrow a queryset to a studio's rows that are not archived, or are already chosen."""
    names = {field.name for field in queryset.model._meta.get_fields()}
    if "studio" in names:
        queryset = queryset.filter(studio=studio)
    if "archived_at" in names:
        live = queryset.filter(archived_at=None)
        queryset = live | queryset.filter(pk=keep) if keep else live
    return queryset
