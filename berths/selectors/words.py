"""Words of owners: those that nobody has answered, for the day; and those of an own boat, for the owner."""

from datetime import timedelta

from django.db.models import BigIntegerField, F, PositiveSmallIntegerField, Prefetch, Q, Value

from berths.models import Berth, OwnersWord, Picture, Recheck, SetPosition, Stay
from berths.selectors import visible
from marina.base import clock
from vessels.models import Vessel

STILL_SHOWN = timedelta(days=30)  # how long an answer stays on the owner's page


def words(user):
    """Words this person may see: staff all, a holder those about the own boats."""
    return OwnersWord.objects.filter(vessel__in=visible.vessels(user)).select_related(
        "vessel", "berth", "position", "by", "answered_by"
    )


NAMES = ("of_whom", "at_berth", "raft", "walk", "stay_id", "line")
COLUMNS = ("sort", "id", "time", "kind_of", "told", "who", *NAMES)


def looks_and_words(user, until):
    """Open re-checks that were missed or fall due until then, and words that wait for an answer.

    Both are few and stand on the day, whose queries are counted: one query for the two.

    Returns
    -------
    list of Recheck, list of OwnersWord
        By their time; with boat and berth, and no more of them than the day shows.
    """
    looks = Recheck.objects.filter(done_at=None, due__lt=until, stay__in=visible.stays(user)).annotate(
        sort=Value("look"), time=F("due"), kind_of=F("why"), told=F("words"), who=F("named"),
        of_whom=F("stay__vessel__name"), at_berth=F("stay__berth__code"), raft=F("stay__raft_place"),
        walk=F("stay__berth__walking_order"), line=NO_NUMBER,
    )  # fmt: skip
    waiting = OwnersWord.objects.filter(answered_at=None, vessel__in=visible.vessels(user)).annotate(
        sort=Value("word"), time=F("at"), kind_of=F("kind"), told=F("text"), who=Value(""),
        of_whom=F("vessel__name"), at_berth=F("berth__code"), raft=NO_NUMBER,
        walk=F("berth__walking_order"), stay_id=NO_KEY, line=F("position__number"),
    )  # fmt: skip
    both = looks.order_by().values_list(*COLUMNS).union(waiting.order_by().values_list(*COLUMNS), all=True)
    found = {"look": [], "word": []}
    for row in sorted((dict(zip(COLUMNS, row, strict=True)) for row in both), key=_by_time):
        found[row["sort"]].append(_look(row) if row["sort"] == "look" else _word(row))
    return found["look"], found["word"]


NO_NUMBER = Value(None, output_field=PositiveSmallIntegerField())
NO_KEY = Value(None, output_field=BigIntegerField())


def _by_time(row):
    return row["time"], row["id"]


def _look(row):
    stay = Stay(
        id=row["stay_id"],
        raft_place=row["raft"],
        vessel=Vessel(name=row["of_whom"]),
        berth=Berth(code=row["at_berth"], walking_order=row["walk"]),
    )
    return Recheck(
        id=row["id"], stay=stay, due=row["time"], why=row["kind_of"], words=row["told"], named=row["who"]
    )


def _word(row):
    return OwnersWord(
        id=row["id"],
        kind=row["kind_of"],
        text=row["told"],
        at=row["time"],
        vessel=Vessel(name=row["of_whom"]),
        berth=row["at_berth"] and Berth(code=row["at_berth"]),
        position=row["line"] and SetPosition(number=row["line"]),
    )


def words_of(vessels):
    """{vessel id: [word]} of the last weeks, the newest first, with their pictures. Two queries."""
    since = clock.now() - STILL_SHOWN
    rows = OwnersWord.objects.filter(Q(answered_at=None) | Q(answered_at__gt=since), vessel__in=vessels)
    pictures = Prefetch("pictures", Picture.objects.defer("jpeg"))
    found = {}
    for word in rows.select_related("position").prefetch_related(pictures):
        found.setdefault(word.vessel_id, []).append(word)
    return found
