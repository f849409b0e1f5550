"""Setting up people, shops and firms; what was signed can be read here, not changed."""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin

from .models import Firm, FirmMembership, Membership, Shop, User, Visit


class MembershipInline(admin.TabularInline):
    model = Membership
    extra = 0


class FirmMembershipInline(admin.TabularInline):
    model = FirmMembership
    extra = 0


@admin.register(User)
class PersonAdmin(UserAdmin):
    inlines = [MembershipInline, FirmMembershipInline]
    fieldsets = (*UserAdmin.fieldsets, ("At the machine", {"fields": ["length_unit"]}))


@admin.register(Shop)
class ShopAdmin(admin.ModelAdmin):
    list_display = ["name", "time_zone", "length_unit"]


@admin.register(Firm)
class FirmAdmin(admin.ModelAdmin):
    list_display = ["name", "phone", "email"]


@admin.register(Visit)
class VisitAdmin(admin.ModelAdmin):
    """Visits are worked on in the site's own pages, through its services; here they are read."""

    list_display = ["number", "shop", "firm", "state", "signed_at"]
    list_filter = ["state", "shop"]

    def has_add_permission(self, request):
        return False

    def has_change_permission(self, request, obj=None):
        return False

    def has_delete_permission(self, request, obj=None):
        return False
