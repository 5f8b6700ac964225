"""Addresses of berths, boats at them, lines and water. Each needs a row in the table of doors."""

from django.urls import path

from berths.views import berth, card, line, mine, plan, water

app_name = "berths"
urlpatterns = [
    path("mine/", mine.mine, name="mine"),
    path("berths/", berth.berths, name="berths"),
    path("berths/<str:code>/", berth.berth, name="berth"),
    path("plan/", plan.plan, name="plan"),
    path("boats/<int:pk>/", berth.boat, name="boat"),
    path("stays/<int:pk>/card/", card.card, name="card"),
    path("stays/<int:pk>/card.pdf", card.card_pdf, name="card-pdf"),
    path("lines/", line.lines, name="lines"),
    path("lines/<str:tag>/", line.line, name="line"),
    path("water/", water.water, name="water"),
]
