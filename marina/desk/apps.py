"""The harbour office: doors, base pages and the demo; it has no tables of its own."""

from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "marina.desk"
    label = "desk"
    verbose_name = "Harbour office"
