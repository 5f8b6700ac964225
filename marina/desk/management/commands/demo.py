"""`manage.py demo`: the invented harbour, a boat on the radio that gets a berth, her card, and the site."""

import socket
import textwrap
from datetime import timedelta

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from berths.cards import pdf, press
from berths.cards.facts import reader_of
from berths.cards.words import say_lines
from berths.models import Berth, Card, Stay
from berths.services import tieups
from berths.services.cards import print_card
from berths.tieup.scenario import Scenario
from berths.tieup.verdict import Verdict
from marina.base import clock, house
from marina.base.house import set_rule
from marina.desk.demo import arrival, load
from marina.desk.demo.rows import demo_clock
from marina.desk.demo.signins import give_passwords, sign_ins_file

HOST, FIRST_PORT, PORTS = "127.0.0.1", 8000, 50
ANSWERS = {
    "holds": "holds in the stated cases",
    "does_not_hold": "DOES NOT HOLD",
    "not_known": "NOT KNOWN whether it holds",
}
CAUTION = (
    "Worked out from the figures recorded here, for the water and wind stated; it does not know what was not "
    "entered. Judge by eye before leaving her. Directions of the harbour authority, local rules and the boat's "
    "master come first."
)


class Command(BaseCommand):
    help = "Load an invented harbour, give its arriving boat a berth, print her card, and serve the site."
    requires_system_checks = []  # the database may not be there yet; `migrate` makes it first

    def add_arguments(self, parser):
        parser.add_argument("--no-serve", action="store_true", help="stop before serving the site")
        parser.add_argument(
            "--today", action="store_true", help="move all dates along, so that the day is today"
        )
        parser.add_argument("--fresh", action="store_true", help="empty the demonstration's database first")

    def handle(self, *, no_serve, today, fresh, **options):
        call_command("migrate", verbosity=0)
        days = self._days(today, fresh)
        loading = load(days)
        by = loading.users["harbourmaster"]
        self._set_clock(loading, by)
        sign_ins = give_passwords()
        self.stdout.write(
            f"{house.value('harbour_name')}: {clock.local(clock.now()):%A %-d %B %Y, %H:%M}. All invented."
        )
        self._work_out(by)
        port = _free_port()
        self._main_job(loading, by, port)
        self._tell_sign_ins(sign_ins, port)
        if not no_serve:
            call_command("runserver", f"{HOST}:{port}", use_reloader=False, skip_checks=True)

    # --- loading ---

    def _days(self, today, fresh):
        """By how many days the data moves along; refuses a database that holds something else."""
        known = house.value("demo_clock")
        if known is None and Berth.objects.exists():
            raise CommandError(
                "This database holds a harbour of its own. The demonstration needs an empty one: "
                "set DATABASE_URL=sqlite:///PATH to a new file."
            )
        if fresh and known is not None:
            call_command("flush", interactive=False, verbosity=0)
            known = None
        first, zone = demo_clock()
        now = clock.datetime.now(zone) if today else None
        wanted = (now.date() - first.date()).days if today else 0
        if known is None:
            return wanted
        loaded = (clock.datetime.fromisoformat(known["at"]).astimezone(zone).date() - first.date()).days
        if loaded != wanted:
            day = first.date() + timedelta(days=loaded)
            raise CommandError(
                f"The demonstration is loaded for {day:%A %-d %B %Y}. Add --fresh to empty it and load it for the "
                "other day; what was entered since is then gone."
            )
        return loaded

    def _set_clock(self, loading, by):
        """Stand the harbour's clock still at the demonstration's moment."""
        first, zone = demo_clock()
        at = {"at": (first + timedelta(days=loading.days)).replace(tzinfo=zone).isoformat()}
        if house.value("demo_clock") != at:
            set_rule(key="demo_clock", value=at, by=by, reason="the demonstration")

    def _work_out(self, by):
        stays = Stay.objects.filter(state__in=("booked", "fast")).select_related("vessel", "berth")
        self.stdout.write(f"Working out the tie-ups of {stays.count()} boats ...")
        tieups.work_out_all(stays, by)

    # --- the main job ---

    def _main_job(self, loading, by, port):
        try:
            stay, option = arrival.place(loading)
        except (LookupError, ValidationError) as refusal:
            self.stdout.write(f"On the radio: {refusal}")
            return
        tie_up = tieups.work_out_all([stay], by)[0]
        boat, length = stay.vessel, stay.vessel.length_that_counts(house.rules())
        self.stdout.write(
            f"\nOn the radio: {boat}, {float(length[0]):.2f} m ({length[1]}), beam {float(boat.beam):.2f} m, "
            f"draft {float(boat.draft):.2f} m; asks for a slip."
        )
        self.stdout.write(f"She gets {stay.berth}." if option else f"She has {stay.berth} already.")
        for words in option.fit.ease if option else ():
            self._wrapped(words, "  ")
        self._tell_tie_up(stay, tie_up, by)
        self._write_card(stay, by, port)

    def _tell_tie_up(self, stay, tie_up, by):
        if tie_up.verdict is None:
            self.stdout.write(tie_up.trouble)
            return
        scenario, verdict = Scenario.model_validate(tie_up.scenario), Verdict.model_validate(tie_up.verdict)
        self.stdout.write(f"\nHer tie-up {ANSWERS[verdict.summary.answer]}.")
        if verdict.summary.why:
            self._wrapped(verdict.summary.why, "  ")
        lines = say_lines(scenario, verdict, reader_of(by), kind=stay.berth.kind)
        figures = {line.id: line for line in verdict.lines}
        rows = [("", "from", "runs", "to", "length", "rope", "snug at", "stops")]
        for n, line in enumerate(lines, 1):
            its = figures[line.id]
            rope = f"{its.diameter_mm:g} mm" if its.diameter_mm else "not known"
            snug = "any level" if its.set_level is None else f"{its.set_level:.2f} m"
            stops = line.stops.removeprefix("stops her ")
            rows.append((f"{n}.", line.source, line.runs, line.to, line.length, rope, snug, stops))
        self.stdout.write(_table(rows))
        self.stdout.write("\nRead back:")
        for n, line in enumerate(lines, 1):
            self.stdout.write(f"  {n}. {line.read_back}")
        self.stdout.write("\nFlags:" if verdict.flags else "\nNo flag is raised.")
        for flag in verdict.flags:
            rank = flag.severity.upper() if flag.state == "raised" else "NOT KNOWN"
            self._wrapped(f"{rank}: {flag.message}. {flag.do}".rstrip(". ") + ".", "  ")
        self.stdout.write("")
        self._wrapped(CAUTION, "")

    def _write_card(self, stay, by, port):
        """The card of her stay as a file; the one that is in use, else a new one."""
        card = Card.objects.filter(stay=stay, superseded__isnull=True).first()
        try:
            address = f"http://{HOST}:{port}{reverse('berths:card', args=[stay.pk])}"
            card = card or print_card(stay=stay, by=by, address=address)
        except (press.NoPrinter, pdf.DoesNotFit, ValidationError) as trouble:
            self.stdout.write(f"\nNo card as PDF: {trouble}")
            return
        folder = settings.DATA_DIR / "cards"
        folder.mkdir(parents=True, exist_ok=True)
        file = folder / f"{stay.berth.code}-{stay.vessel.name.lower().replace(' ', '-')}-{card.number}.pdf"
        file.write_bytes(bytes(card.pdf))
        self.stdout.write(f"\nHer card: {file}")

    # --- the site ---

    def _tell_sign_ins(self, rows, port):
        self.stdout.write(f"\nThe site: http://{HOST}:{port}/   sign-ins, also in {sign_ins_file()}:")
        self.stdout.write(_table([("name", "password", "who"), *rows]))

    def _wrapped(self, text, indent):
        self.stdout.write(textwrap.fill(text, 110, initial_indent=indent, subsequent_indent=indent * 2))


def _table(rows):
    """Rows of text in columns."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return "\n".join(
        "  " + "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows
    )


def _free_port():
    """The first port from 8000 on that nobody listens on."""
    for port in range(FIRST_PORT, FIRST_PORT + PORTS):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, port))
            except OSError:
                continue
            return port
    raise CommandError(f"No free port from {FIRST_PORT} to {FIRST_PORT + PORTS - 1} on {HOST}.")
