"""`manage.py nightly`: work out again what is out of date, and print what needs somebody. For a timer, once a night."""

import textwrap

from django.core.management.base import BaseCommand

from berths.changes import changed
from berths.selectors.nightly import needs
from berths.services import nightly
from berths.templatetags.stays import bites, sentence
from marina.base import clock, house

WIDTH = 110
CAUTION = "By what is recorded. It does not know what nobody entered; look at the boats all the same."


class Command(BaseCommand):
    help = (
        "Work out again every tie-up whose records, water or engine have moved, set the looks anew, and print what "
        "needs somebody. Safe to run twice."
    )

    def handle(self, *args, **options):
        night = nightly.run()
        self.stdout.write(f"{house.value('harbour_name')}, {clock.local(clock.now()):%A %-d %B %Y, %H:%M}")
        self.stdout.write(
            f"{night.boats} boats gone through, {len(night.renewed)} worked out again, {night.looks} looks set anew."
        )
        for stay, why in night.renewed:
            self._wrapped(f"{stay.berth.code} {stay.vessel.name}: {changed(why)}", "  ")
        rows = needs()
        self.stdout.write(f"\nWhat needs somebody: {len(rows) or 'nothing in the record'}")
        for row in rows:
            self._wrapped(f"{row.code} {row.name}: {row.standing.words}", "")
            for mark in row.marks:
                parts = (f"{mark.word}:", sentence(mark.message), sentence(bites(mark)), sentence(mark.do))
                self._wrapped(" ".join(filter(None, parts)), "  ")
        self._wrapped(CAUTION, "")

    def _wrapped(self, text, indent):
        self.stdout.write(textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent * 2))
