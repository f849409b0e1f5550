"""Putting machines, their axes, belts and parts on record; what happens to them is entered on the
site's own pages, through its services."""

from django.contrib import admin

from shop.people.admin_editing import StampedAdmin

from .drive.models import Assembly, Bearing, Belt, Part
from .register.models import Axis, Machine


class AxisInline(admin.TabularInline):
    model = Axis
    extra = 0


class BeltInline(admin.StackedInline):
    model = Belt
    extra = 0
    autocomplete_fields = ["part"]


class AssemblyInline(admin.StackedInline):
    model = Assembly
    extra = 0


class BearingInline(admin.StackedInline):
    model = Bearing
    extra = 0
    autocomplete_fields = ["part"]


@admin.register(Machine)
class MachineAdmin(StampedAdmin):
    list_display = ["number", "name", "shop", "serial"]
    list_filter = ["shop"]
    search_fields = ["number", "name", "serial"]
    inlines = [AxisInline, BeltInline, AssemblyInline, BearingInline]

    def get_readonly_fields(self, request, obj=None):
        """Checks rest on the headstock's side; the machine's own page weighs them anew. A machine
        changes its shop only by being handed over."""
        fields = super().get_readonly_fields(request, obj)
        return fields if obj is None else [*fields, "headstock_side", "shop"]


@admin.register(Part)
class PartAdmin(StampedAdmin):
    list_display = ["number", "description", "shop", "firm"]
    search_fields = ["number", "description"]
