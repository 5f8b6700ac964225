"""Addresses of the forms for a vessel's own records."""

from django.urls import path

from vessels.views import lines, measure

app_name = "vessels"
urlpatterns = [
    path("boats/<int:pk>/measure/", measure.measure, name="measure"),
    path("lines/new/", lines.new, name="line-new"),
    path("lines/<str:tag>/record/", lines.change, name="line-change"),
    path("lines/<str:tag>/enter/<slug:kind>/", lines.enter, name="line-enter"),
    path("lines/<str:tag>/look/", lines.look, name="line-look"),
    path("lines/<str:tag>/undo/<int:pk>/", lines.undo, name="line-undo"),
    path("lines/<str:tag>/withdraw/<int:pk>/", lines.withdraw, name="line-withdraw"),
]
