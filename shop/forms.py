"""Form fields and the way forms are drawn."""

from django.forms.renderers import TemplatesSetting


class Renderer(TemplatesSetting):
    """Draws every form with the site's own templates."""

    form_template_name = "includes/form.html"
    field_template_name = "includes/field.html"
