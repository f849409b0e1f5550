"""The version check in the admin: whoever comes second is told what was changed meanwhile."""

from django.contrib.admin import ModelAdmin

from .editing import editing, stamped


class StampedAdmin(ModelAdmin):
    """A form of the admin that carries the version of its record and of the parts it edits."""

    change_form_template = "shop/admin_change_form.html"

    def changeform_view(self, request, object_id=None, form_url="", extra_context=None):
        return editing(super().changeform_view)(request, object_id, form_url, extra_context)

    def get_form(self, request, obj=None, change=False, **kwargs):
        made = super().get_form(request, obj, change=change, **kwargs)
        if not change or not self.has_change_permission(request, obj):
            return made
        parts = self._parts(request, obj)

        class Stamped(made):
            def __init__(self, *args, **kwargs):
                super().__init__(*args, **kwargs)
                stamped(request, self, obj, parts=parts)

        return Stamped

    def _parts(self, request, obj):
        """The rows that are edited on the record's page along with it."""
        parts = [
            (inline.model, inline.get_formset(request, obj).fk.name)
            for inline in self.get_inline_instances(request, obj)
        ]
        parts += [
            (field.remote_field.through, field.m2m_field_name()) for field in obj._meta.many_to_many
        ]
        return [model._base_manager.filter(**{whole: obj}) for model, whole in parts]
