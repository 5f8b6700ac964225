"""The page of a stay's lines: each that is asked for with its rope and hook, and the tags that are to go out."""

from functools import reduce
from operator import or_

from django.core.exceptions import ValidationError
from django.db.models import Q

from berths.cards.words import say_lines
from berths.models import BerthFastening
from berths.selectors import hooks, visible
from berths.selectors.stay import read
from marina.base import clock
from vessels.selectors.lines import can_be_used, with_last_look


def by_tags(user, tags):
    """The lines of these tags, as read; one that must not be used, or that nobody knows, is told first.

    Raises
    ------
    ValidationError
        With a sentence for each tag that may not go out.
    """
    wanted = {tag.casefold(): tag for tag in tags}
    if not wanted:
        raise ValidationError("No line was named. Give a tag, as read on the line.")
    found, wrong = {}, []
    for line in with_last_look(visible.lines(user)).filter(
        reduce(or_, (Q(tag__iexact=t) | Q(second_tag__iexact=t) for t in tags))
    ):
        judged = can_be_used(line, line.inspected, line.advice, clock.today())
        if judged.kind == "stop":
            wrong.insert(0, f"{judged.word}: {line.tag}. {judged.why}")
        found[line.pk] = line
    read = {t.casefold() for line in found.values() for t in (line.tag, line.second_tag)}
    wrong += [
        f"No line {tag} in the register. Do not trust it." for key, tag in wanted.items() if key not in read
    ]
    if wrong:
        raise ValidationError(wrong)
    return list(found.values())


def stay_lines(user, stay, reader):
    """Everything the page of a stay's lines shows."""
    tie_up = hooks.planned([stay]).get(stay.pk)
    scenario, verdict, trouble = read(tie_up)
    uses = hooks.out_to(stay)
    refusal = hooks.may_lend(stay)
    rows = []
    if verdict is not None:
        ropes = hooks.ropes_for(user, [stay])
        rows = hooks.match(hooks.needs_of(stay, scenario, verdict), ropes, short=hooks.is_short(stay))
        said = dict(
            BerthFastening.objects.filter(berth=stay.berth_id).exclude(words="").values_list("code", "words")
        )
        words = {w.id: w for w in say_lines(scenario, verdict, reader, said=said, kind=stay.berth.kind)}
        for row in rows:
            row.words = words[row.need.id]
    served = {row.use.pk for row in rows if row.use}
    return {
        "rows": rows,
        "tie_up": tie_up,
        "trouble": trouble,
        "not_lent": refusal,
        "offered": [] if refusal else [row for row in rows if row.may_go],
        "uses": uses,
        "also": [use for use in uses if use.pk not in served],
        "bad": [use for use in uses if use.judged.kind == "stop"],
    }
