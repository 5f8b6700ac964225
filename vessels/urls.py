"""Addresses of the forms for a vessel's own records."""

from django.urls import path

from vessels.views import measure

app_name = "vessels"
urlpatterns = [
    path("boats/<int:pk>/measure/", measure.measure, name="measure"),
]
