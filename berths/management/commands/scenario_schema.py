"""`manage.py scenario_schema`: the JSON Schema of a Scenario, for programs that write one."""

import json

from django.core.management.base import BaseCommand

from berths.tieup.scenario import Scenario


class Command(BaseCommand):
    help = "Print the JSON Schema of a Scenario."
    requires_system_checks = []

    def handle(self, *args, **options):
        self.stdout.write(json.dumps(Scenario.model_json_schema(), indent=1))
