"""The register of lines as a list: what each is good for and where it is now."""

from dataclasses import dataclass

from django.db.models import Prefetch, Q

from berths.models import LineUse
from berths.selectors import visible
from marina.base import clock
from vessels.models import Line
from vessels.selectors.lines import Use, can_be_used, with_last_look

ORDER = ("stop", "fix", "not_known", "note")


@dataclass
class Entry:
    line: Line
    use: Use
    out: LineUse | None

    @property
    def berth(self):
        if self.out is None:
            return None
        return self.out.stay.berth if self.out.stay else self.out.position.line_set.berth


def register(user, asked=""):
    """Lines this person may see, those that must not be used first. Two queries.

    Parameters
    ----------
    asked : str
        Only tags that contain this; a second tag counts too.
    """
    out = LineUse.objects.filter(back=None).select_related("stay__berth", "position__line_set__berth")
    lines = with_last_look(visible.lines(user)).prefetch_related(
        Prefetch("uses", queryset=out, to_attr="out")
    )
    if asked:
        lines = lines.filter(Q(tag__icontains=asked) | Q(second_tag__icontains=asked))
    today = clock.today()
    rows = [
        Entry(line, can_be_used(line, line.inspected, line.advice, today), line.out[0] if line.out else None)
        for line in lines.order_by("tag")
    ]
    return sorted(rows, key=lambda row: ORDER.index(row.use.kind))
