"""Addresses of berths, boats at them, lines and water. Each needs a row in the table of doors."""

from django.urls import path

from berths.views import berth, card, line, mine, place, plan, stay, water

app_name = "berths"
urlpatterns = [
    path("mine/", mine.mine, name="mine"),
    path("berths/", berth.berths, name="berths"),
    path("berths/<str:code>/", berth.berth, name="berth"),
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
    path("stays/<int:pk>/card/", card.card, name="card"),
    path("stays/<int:pk>/card.pdf", card.card_pdf, name="card-pdf"),
    path("lines/", line.lines, name="lines"),
    path("lines/<str:tag>/", line.line, name="line"),
    path("water/", water.water, name="water"),
]
