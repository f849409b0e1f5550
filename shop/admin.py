"""Setting up people, shops and firms; what was signed can be read here, not changed."""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin

from .audit.models import Change
from .billing.notices import tell_where_money_goes
from .people.admin_editing import StampedAdmin
from .people.models import Firm, FirmMembership, Membership, Shop, User
from .visits.models import Visit


class MembershipInline(admin.TabularInline):
    model = Membership
    extra = 0


class FirmMembershipInline(admin.TabularInline):
    model = FirmMembership
    extra = 0


@admin.register(User)
class PersonAdmin(StampedAdmin, UserAdmin):
    inlines = [MembershipInline, FirmMembershipInline]
    fieldsets = (*UserAdmin.fieldsets, ("At the machine", {"fields": ["length_unit"]}))


@admin.register(Shop)
class ShopAdmin(StampedAdmin):
    list_display = ["name", "time_zone", "length_unit"]


@admin.register(Firm)
class FirmAdmin(StampedAdmin):
    list_display = ["name", "phone", "email"]

    def save_model(self, request, obj, form, change):
        super().save_model(request, obj, form, change)
        before = form.initial.get("payment_note", "")
        tell_where_money_goes(obj, before=before, by=request.user)


class OnlyRead(admin.ModelAdmin):
    def has_add_permission(self, request):
        return False

    def has_change_permission(self, request, obj=None):
        return False

    def has_delete_permission(self, request, obj=None):
        return False


@admin.register(Visit)
class VisitAdmin(OnlyRead):
    """Visits are worked on in the site's own pages, through its services; here they are read."""

    list_display = ["number", "shop", "firm", "state", "signed_at"]
    list_filter = ["state", "shop"]


@admin.register(Change)
class ChangeAdmin(OnlyRead):
    """The whole trail, also of records that have no page of their own, such as people."""

    list_display = ["at", "who", "via", "record", "kind"]
    list_filter = ["kind"]
    list_select_related = ["who"]
    search_fields = ["=record", "=within", "=request_id"]
    search_help_text = "A record such as shop_user:12, or the id of a request."
    show_full_result_count = False
