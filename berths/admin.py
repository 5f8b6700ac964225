"""The harbour in the back office: survey and water are edited here, deeds and snapshots are only read."""

from django.contrib import admin
from import_export.admin import ImportExportModelAdmin

from berths.models import (
    Berth,
    BerthFace,
    BerthFastening,
    CalendarFeed,
    Card,
    CardBatch,
    Face,
    Fastening,
    FlagAccepted,
    Forecast,
    LineSet,
    LineUse,
    Look,
    MadeFast,
    MadeFastLine,
    Message,
    Notice,
    OwnersWord,
    Picture,
    Pier,
    Reading,
    Recheck,
    Round,
    SetPosition,
    Sighting,
    Stay,
    TieUp,
    Water,
)
from berths.sheets import BerthFasteningSheet, BerthSheet, FasteningSheet
from marina.base.admin import KeptAsWritten


class Fastenings(admin.TabularInline):
    model = BerthFastening
    extra = 0
    autocomplete_fields = ("fastening",)


class Faces(admin.TabularInline):
    model = BerthFace
    extra = 0
    autocomplete_fields = ("face",)


class Positions(admin.TabularInline):
    model = SetPosition
    extra = 0
    autocomplete_fields = ("boat_end", "shore_end", "via")


@admin.register(Pier)
class PierAdmin(admin.ModelAdmin):
    list_display = ("name", "walking_order")


@admin.register(Berth)
class BerthAdmin(ImportExportModelAdmin):
    resource_classes = (BerthSheet,)
    list_display = ("code", "kind", "pier", "water", "length", "clear_width", "bed_z", "in_use")
    list_select_related = ("pier", "water")
    list_filter = ("pier", "kind", "water")
    search_fields = ("code",)
    inlines = (Fastenings, Faces)


@admin.register(Fastening)
class FasteningAdmin(ImportExportModelAdmin):
    resource_classes = (FasteningSheet,)
    list_display = (
        "label",
        "kind",
        "z",
        "floats",
        "top_z",
        "strength",
        "condition",
        "in_use",
        "last_checked",
    )
    list_filter = ("kind", "in_use", "condition")
    search_fields = ("label",)


@admin.register(Face)
class FaceAdmin(admin.ModelAdmin):
    list_display = ("label", "top_z", "underside_z", "floats", "continuous", "sharp", "in_use")
    search_fields = ("label",)


@admin.register(BerthFastening)
class BerthFasteningAdmin(ImportExportModelAdmin):
    resource_classes = (BerthFasteningSheet,)
    list_display = ("berth", "code", "fastening", "words")
    list_select_related = ("berth", "fastening")
    search_fields = ("berth__code", "code", "fastening__label")
    autocomplete_fields = ("berth", "fastening")


@admin.register(BerthFace)
class BerthFaceAdmin(admin.ModelAdmin):
    list_display = ("berth", "code", "face")
    list_select_related = ("berth", "face")
    autocomplete_fields = ("berth", "face")


@admin.register(Water)
class WaterAdmin(admin.ModelAdmin):
    list_display = ("name", "kind", "datum", "low", "high", "surge_up", "surge_down", "surge_reason")


@admin.register(Notice)
class NoticeAdmin(admin.ModelAdmin):
    list_display = ("water", "low", "high", "starts", "ends", "reason")
    list_select_related = ("water",)


@admin.register(Reading)
class ReadingAdmin(admin.ModelAdmin):
    list_display = ("water", "at", "level", "by")
    list_select_related = ("water", "by")


@admin.register(Forecast)
class ForecastAdmin(admin.ModelAdmin):
    list_display = ("starts", "ends", "water", "wind_gust", "surge_up", "surge_down", "source")
    list_select_related = ("water",)


@admin.register(Stay)
class StayAdmin(admin.ModelAdmin):
    list_display = ("vessel", "berth", "raft_place", "arrive", "depart", "purpose", "state", "side_to")
    list_select_related = ("vessel", "berth")
    list_filter = ("state", "purpose")
    search_fields = ("vessel__name", "berth__code")
    autocomplete_fields = ("vessel", "berth")
    date_hierarchy = "arrive"


@admin.register(LineSet)
class LineSetAdmin(admin.ModelAdmin):
    list_display = ("berth", "vessel", "owner", "starts", "ends")
    list_select_related = ("berth", "vessel", "owner")
    search_fields = ("berth__code", "vessel__name")
    autocomplete_fields = ("berth", "vessel", "owner")
    inlines = (Positions,)


@admin.register(SetPosition)
class SetPositionAdmin(admin.ModelAdmin):
    list_display = ("line_set", "number", "role", "boat_end", "shore_end", "length")
    list_select_related = ("line_set__berth", "line_set__vessel", "boat_end", "shore_end")
    search_fields = ("line_set__berth__code", "line_set__vessel__name")
    autocomplete_fields = ("line_set", "boat_end", "shore_end", "via")


@admin.register(LineUse)
class LineUseAdmin(admin.ModelAdmin):
    list_display = ("line", "at", "back", "stay", "position", "closed_as")
    list_select_related = (
        "line",
        "stay__vessel",
        "stay__berth",
        "position__line_set__berth",
        "position__line_set__vessel",
    )
    search_fields = ("line__tag",)
    autocomplete_fields = ("line", "stay", "position")


@admin.register(TieUp)
class TieUpAdmin(KeptAsWritten):
    list_display = ("made_at", "stay", "line_set", "sort", "answer", "stops", "fixes", "not_known", "stale")
    list_select_related = ("stay__vessel", "stay__berth", "line_set__berth", "line_set__vessel")
    list_filter = ("sort", "answer", "stale")


@admin.register(Card)
class CardAdmin(KeptAsWritten):
    list_display = ("stay", "number", "printed", "superseded", "destroyed")
    list_select_related = ("stay__berth", "stay__vessel")


@admin.register(CardBatch)
class CardBatchAdmin(KeptAsWritten):
    list_display = ("printed", "words", "paper", "by")
    list_select_related = ("by",)


@admin.register(FlagAccepted)
class FlagAcceptedAdmin(KeptAsWritten):
    list_display = ("at", "code", "place", "reason", "by", "until")
    list_select_related = ("by",)


class LinesFound(admin.TabularInline):
    model = MadeFastLine
    extra = 0


@admin.register(MadeFast)
class MadeFastAdmin(KeptAsWritten):
    list_display = ("at", "stay", "level", "side_to", "as_planned", "by")
    list_select_related = ("stay__vessel", "stay__berth", "by")
    inlines = (LinesFound,)


@admin.register(Recheck)
class RecheckAdmin(admin.ModelAdmin):
    list_display = ("due", "stay", "why", "named", "done_at")
    list_select_related = ("stay__vessel", "stay__berth")
    list_filter = ("why",)
    autocomplete_fields = ("stay",)


@admin.register(Message)
class MessageAdmin(admin.ModelAdmin):
    list_display = ("at", "owner", "text", "answer")
    list_select_related = ("owner",)
    autocomplete_fields = ("owner", "stay", "vessel")


@admin.register(Round)
class RoundAdmin(admin.ModelAdmin):
    list_display = ("name", "started", "closed", "by")
    list_select_related = ("by",)
    filter_horizontal = ("berths",)


@admin.register(Look)
class LookAdmin(KeptAsWritten):
    list_display = ("at", "berth", "mark", "words", "by")
    list_select_related = ("berth", "by")
    list_filter = ("mark",)


@admin.register(OwnersWord)
class OwnersWordAdmin(KeptAsWritten):
    list_display = ("at", "vessel", "kind", "text", "answered_at")
    list_select_related = ("vessel",)


@admin.register(Picture)
class PictureAdmin(KeptAsWritten):
    list_display = ("at", "stay", "words", "by")
    list_select_related = ("stay__berth", "stay__vessel", "by")


@admin.register(CalendarFeed)
class CalendarFeedAdmin(admin.ModelAdmin):
    """Made on the page of looks; taken away here when somebody leaves."""

    list_display = ("user", "made")
    list_select_related = ("user",)
    fields = readonly_fields = ("user", "made")

    def has_add_permission(self, request):
        return False


@admin.register(Sighting)
class SightingAdmin(KeptAsWritten):
    list_display = ("at", "tag", "berth", "place", "diameter_found_mm", "length_found", "by")
    list_select_related = ("berth", "by")
    search_fields = ("tag",)
