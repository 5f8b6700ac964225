from django.apps import AppConfig


class BerthsConfig(AppConfig):
    name = "berths"
    verbose_name = "Harbour and stays"

    def ready(self):
        from berths.services import looks, stale  # noqa: PLC0415  (models may be imported from here on only)

        stale.connect()
        looks.connect()
