"""Forms of the ground floor, and how every form of the project is drawn."""

from django.forms.renderers import TemplatesSetting


class Renderer(TemplatesSetting):
    """Draw a field as label, hint, error and input, in that order."""

    field_template_name = "studio/forms/field.html"
