from django.apps import AppConfig


class BerthsConfig(AppConfig):
    name = "berths"
    verbose_name = "Harbour and stays"
