"""`manage.py tieup FILE`: a Scenario in, a Verdict out. Needs no database and no environment."""

import sys

from django.core.management.base import BaseCommand

from berths.tieup import explain, tie_up
from berths.tieup.scenario import BadScenario, read
from berths.tieup.table import as_table, working_table

BAD_INPUT = 2


class Command(BaseCommand):
    help = "Work out how a boat is tied up at a berth, from a Scenario in JSON ('-' reads standard input)."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file", help="Scenario as JSON, or - for standard input")
        parser.add_argument("--json", action="store_true", help="print the whole Verdict as JSON")
        parser.add_argument(
            "--explain", metavar="LINE", help="the working of this line's greatest pull instead"
        )

    def handle(self, *args, **options):
        try:
            scenario = read(_text_of(options["file"]))
            verdict = None if options["explain"] else tie_up(scenario)
        except OSError as error:
            self._refuse([f"file: cannot read {options['file']}: {error.strerror or error}"])
        except BadScenario as error:
            self._refuse(error.faults)
        if options["explain"]:
            return self._explain(scenario, options["explain"], options["json"])
        self.stdout.write(verdict.to_json(indent=1) if options["json"] else as_table(verdict))

    def _explain(self, scenario, line, as_json):
        try:
            working = explain(scenario, line)
        except ValueError as error:
            self._refuse(getattr(error, "faults", None) or [f"--explain: {error}"])
        self.stdout.write(working.model_dump_json(indent=1) if as_json else working_table(working))

    def _refuse(self, faults):
        self.stderr.write("\n".join(faults))
        sys.exit(BAD_INPUT)


def _text_of(name):
    if name == "-":
        return sys.stdin.buffer.read()
    with open(name, "rb") as file:
        return file.read()
