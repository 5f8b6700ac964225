"""The back office: the harbourmaster's last resort, and the door for spreadsheets."""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import Group

from marina.base.models import HouseRule, Trail, User

admin.site.site_header = "Lines Ashore: back office"
admin.site.site_title = "Lines Ashore"
admin.site.index_title = "Records"
admin.site.unregister(Group)  # one role a person, a column of the user


class KeptAsWritten(admin.ModelAdmin):
    """Records that are added by a deed and only read here."""

    def has_add_permission(self, request, obj=None):
        return False

    def has_change_permission(self, request, obj=None):
        return False

    def has_delete_permission(self, request, obj=None):
        return False


@admin.register(User)
class PersonAdmin(UserAdmin):
    list_display = ("username", "role", "first_name", "last_name", "is_active")
    list_filter = ("role", "is_active")
    filter_horizontal = ()
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        ("Person", {"fields": ("first_name", "last_name", "email")}),
        ("Work", {"fields": ("role", "is_active")}),
        ("Reading", {"fields": ("units", "words")}),
        ("Times", {"fields": ("last_login", "date_joined")}),
    )
    add_fieldsets = ((None, {"fields": ("username", "role", "usable_password", "password1", "password2")}),)


@admin.register(HouseRule)
class HouseRuleAdmin(admin.ModelAdmin):
    list_display = ("key", "value", "reason", "by", "since")
    list_select_related = ("by",)
    readonly_fields = ("since",)


@admin.register(Trail)
class TrailAdmin(KeptAsWritten):
    list_display = ("when", "table", "row", "who")
    list_filter = ("table",)
    search_fields = ("=row",)
    show_full_result_count = False
