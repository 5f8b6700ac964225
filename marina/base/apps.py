"""The ground floor comes up: what every database connection and request needs from it."""

from django.apps import AppConfig
from django.core.signals import request_finished, request_started
from django.db.backends.signals import connection_created
from django.db.models.signals import post_delete, post_migrate, post_save, pre_migrate


class BaseConfig(AppConfig):
    name = "marina.base"
    label = "base"
    verbose_name = "Harbour office"

    def ready(self):
        from marina.base import actor, asking, house  # noqa: PLC0415  (models may be imported from here on only)
        from marina.base.models import HouseRule  # noqa: PLC0415

        connection_created.connect(actor.introduce, dispatch_uid="actor")
        pre_migrate.connect(asking.take_down, sender=self, dispatch_uid="asking-down")
        post_migrate.connect(asking.put_up, sender=self, dispatch_uid="asking-up")
        request_started.connect(house.begin_request, dispatch_uid="house-begin")
        request_finished.connect(house.end_request, dispatch_uid="house-end")
        post_save.connect(house.forget, sender=HouseRule, dispatch_uid="house-saved")
        post_delete.connect(house.forget, sender=HouseRule, dispatch_uid="house-deleted")
