"""How long cards take: one when warm, and sixty. Run as `python tests/bench/card.py`.

Figures to hold: one card of a slip with all its lines in at most 0.2 s, sixty in at most 6 s, on one core. Counted
is processor time, so that a busy machine does not hide or feign a change.
"""

import os
import sys
from itertools import cycle, islice
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "marina.settings")

import django

django.setup()

from berths.cards import pdf, press, sheets  # noqa: E402
from berths.cards.back import back  # noqa: E402
from berths.cards.office import office  # noqa: E402
from tests.berths import cards  # noqa: E402

ONE, SIXTY = 0.2, 6.0  # s


def timed(step):
    start = process_time()
    out = step()
    return process_time() - start, out


def main():
    say = sys.stdout.write
    first, data = timed(lambda: pdf.pdf(cards.slip_card()))
    say(f"first card, with the faces loaded    {first:6.2f} s   {len(data) / 1000:.0f} kB\n")
    warm = min(timed(lambda: pdf.pdf(cards.slip_card()))[0] for _ in range(5))
    say(f"one card, warm, best of five         {warm:6.3f} s   {warm / ONE:5.0%} of {ONE} s\n")
    crowded = min(timed(lambda: pdf.pdf(cards.crowded_card()))[0] for _ in range(3))
    say(f"the same with nine lines and flags   {crowded:6.3f} s   {crowded / ONE:5.0%} of {ONE} s\n")
    makers = [make for name, make in cards.EVERY.items() if name != "unworked"]
    sixty, _ = timed(lambda: [pdf.pdf(make()) for make in islice(cycle(makers), 60)])
    say(f"sixty cards of six sorts             {sixty:6.2f} s   {sixty / SIXTY:5.0%} of {SIXTY} s\n")
    many = [make() for make in islice(cycle(makers), 60)]
    sheet, data = timed(lambda: four_up(many))
    say(f"sixty cards, four to a sheet of A4   {sheet:6.2f} s   {sheet / SIXTY:5.0%} of {SIXTY} s   ")
    say(f"{len(data) / 1000:.0f} kB\n")
    both, _ = timed(lambda: four_up(many, backed=True))
    say(f"the same with their backs            {both:6.2f} s\n")
    large, _ = timed(lambda: press.bind(office(cards.crowded_card(), sheets.A4)))
    say(f"one office sheet                     {large:6.2f} s\n")
    return 0 if warm <= ONE and sixty <= SIXTY and sheet <= SIXTY else 1


def four_up(many, *, backed=False):
    stock = sheets.A4.stock
    pieces = [(pdf.front(card, stock), back(card, stock) if backed else None) for card in many]
    return press.bind(sheets.lay(pieces, sheets.A4))


if __name__ == "__main__":
    raise SystemExit(main())
