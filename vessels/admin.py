"""Vessels, owners and lines in the back office, with their sheets."""

from django.contrib import admin
from import_export.admin import ImportExportModelAdmin

from marina.base.admin import KeptAsWritten
from vessels.models import DeckFitting, GearZone, Inspection, Line, LineEvent, Owner, Vessel
from vessels.sheets import LineSheet, VesselSheet


class DeckFittings(admin.TabularInline):
    model = DeckFitting
    extra = 0


class GearZones(admin.TabularInline):
    model = GearZone
    extra = 0


@admin.register(Owner)
class OwnerAdmin(admin.ModelAdmin):
    list_display = ("name", "user", "telephone")
    list_select_related = ("user",)
    search_fields = ("name",)


@admin.register(Vessel)
class VesselAdmin(ImportExportModelAdmin):
    resource_classes = (VesselSheet,)
    list_display = ("name", "hull_class", "loa_declared", "loa_measured", "beam", "draft", "owner")
    list_select_related = ("owner",)
    list_filter = ("hull_class",)
    search_fields = ("name", "owner__name")
    autocomplete_fields = ("owner",)
    inlines = (DeckFittings, GearZones)


@admin.register(DeckFitting)
class DeckFittingAdmin(admin.ModelAdmin):
    list_display = ("vessel", "code", "kind", "x", "y", "z", "strength", "in_use")
    list_select_related = ("vessel",)
    search_fields = ("vessel__name", "code")
    autocomplete_fields = ("vessel",)


@admin.register(GearZone)
class GearZoneAdmin(admin.ModelAdmin):
    list_display = ("vessel", "code", "kind")
    list_select_related = ("vessel",)
    autocomplete_fields = ("vessel",)


@admin.register(Line)
class LineAdmin(ImportExportModelAdmin):
    resource_classes = (LineSheet,)
    list_display = ("tag", "material", "diameter_mm", "working_length", "state", "owner_kind", "home")
    list_filter = ("state", "owner_kind", "kept_for")
    search_fields = ("tag", "second_tag")
    autocomplete_fields = ("owner", "replaces")

    def get_readonly_fields(self, request, obj=None):
        """The state of a line follows from what was done with it, which its own page takes down."""
        return ("state",) if obj else ()


@admin.register(LineEvent)
class LineEventAdmin(KeptAsWritten):
    list_display = ("at", "line", "kind", "place", "by")
    list_select_related = ("line", "by")
    list_filter = ("kind",)
    search_fields = ("line__tag",)


@admin.register(Inspection)
class InspectionAdmin(KeptAsWritten):
    list_display = ("at", "line", "advice", "diameter_found_mm", "by")
    list_select_related = ("line", "by")
    list_filter = ("advice",)
    search_fields = ("line__tag",)
