"""`flush` as Django has it, with leave to empty the tables whose rows are never deleted one by one."""

from django.core.management.commands import flush

from marina.base.actor import erasing


class Command(flush.Command):
    def handle(self, **options):
        with erasing():
            return super().handle(**options)
