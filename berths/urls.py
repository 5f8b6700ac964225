"""Addresses of berths, boats at them, lines and water. Each needs a row in the table of doors."""

from django.urls import path

from berths.views import (
    berth,
    card,
    level,
    line,
    method,
    mine,
    place,
    plan,
    stay,
    water,
    water_record,
    working,
)

app_name = "berths"
urlpatterns = [
    path("mine/", mine.mine, name="mine"),
    path("berths/", berth.berths, name="berths"),
    path("berths/<str:code>/", berth.berth, name="berth"),
    path("berths/<str:code>/level/", level.level, name="level"),
    path("plan/", plan.plan, name="plan"),
    path("boats/<int:pk>/", berth.boat, name="boat"),
    path("place/", place.place, name="place"),
    path("stays/<str:key>/", stay.stay, name="stay"),
    path("stays/<int:pk>/move/", place.move, name="move"),
    path("stays/<int:pk>/turn/", stay.turn, name="stay-turn"),
    path("stays/<int:pk>/work-out/", stay.work_out, name="stay-work-out"),
    path("stays/<int:pk>/work-out-beside/", stay.work_out_beside, name="stay-work-out-beside"),
    path("stays/<int:pk>/name/", stay.name, name="stay-name"),
    path("stays/<int:pk>/cancel/", stay.cancel, name="stay-cancel"),
    path("stays/<int:pk>/working/", working.working, name="working"),
    path("stays/<int:pk>/working/<int:order>/", working.line, name="working-line"),
    path("stays/<int:pk>/card/", card.card, name="card"),
    path("stays/<int:pk>/card.pdf", card.card_pdf, name="card-pdf"),
    path("lines/", line.lines, name="lines"),
    path("lines/<str:tag>/", line.line, name="line"),
    path("how/", method.method, name="method"),
    path("water/", water.water, name="water"),
    path("water/new/", water_record.new, name="water-new"),
    path("water/<int:pk>/", water_record.record, name="water-record"),
    path("water/<int:pk>/station/", water_record.station, name="water-station"),
    path("water/<int:pk>/limits/", water_record.limits, name="water-limits"),
    path("water/<int:pk>/table/", water_record.table, name="water-table"),
    path("water/<int:pk>/allowance/", water_record.allowance, name="water-allowance"),
    path("water/<int:pk>/weather/", water_record.for_a_time, name="water-weather"),
    path("water/<int:pk>/notices/new/", water_record.notice, name="water-notice-new"),
    path("water/<int:pk>/notices/<int:notice>/", water_record.notice, name="water-notice"),
    path("water/<int:pk>/reading/", water_record.reading, name="water-reading"),
]
