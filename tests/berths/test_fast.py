"""Made fast: a hand tells of each line whether it is on and what is otherwise, and is told what it comes to."""

from decimal import Decimal
from uuid import uuid4

import pytest

from berths.models import MadeFast, MadeFastLine, Reading, Stay
from berths.services import fast, tieups
from marina.base import house
from tests.berths.waters import sea
from tests.cast import NOON, hours, make_berth, make_line, make_stay, make_vessel

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon(clock_at):
    house.set_rule(key="zone", value="Europe/London", by=None)
    return clock_at(NOON)


@pytest.fixture
def on_the_dock(client, cast):
    client.force_login(cast.hand)
    return client


@pytest.fixture
def due():
    """A boat due at a floating berth, with lines worked out."""
    stay = make_stay(berth=make_berth(kind="floating"))
    tieups.work_out(stay, stands=False)
    return stay


def told(stay, how="asked", **changed):
    """Every line of the card answered alike; and what is changed."""
    tie_up = tieups.newest(stay)
    rows = tie_up.verdict["lines"] if tie_up and tie_up.verdict else []
    answers = {f"line{row['order']}-how": how for row in rows}
    return (
        answers
        | {"client_id": str(uuid4()), "at": "2027-10-14T13:00", "reason": "told so by radio"}
        | changed
    )


def page(stay):
    return f"/stays/{stay.pk}/made-fast/"


def text(answer):
    return " ".join(answer.content.decode().split())


def test_it_shows_each_line_of_the_card_to_be_answered_one_by_one(on_the_dock, due):
    answer = on_the_dock.get(page(due))
    shown = text(answer)
    for row in tieups.newest(due).verdict["lines"]:
        assert f'name="line{row["order"]}-how"' in shown
    assert "checked" not in shown  # no answer is given for the hand


def test_as_asked_the_lines_are_kept_as_the_card_has_them(on_the_dock, due, cast):
    rows = tieups.newest(due).verdict["lines"]
    answer = on_the_dock.post(page(due), told(due, level="1.38"))
    assert answer.status_code == 302
    deed = MadeFast.objects.get()
    assert (deed.by, deed.at, deed.level, deed.as_planned) == (cast.hand, NOON, Decimal("1.3800"), True)
    kept = list(MadeFastLine.objects.all())
    assert [line.boat_end.code for line in kept] == [
        row["boat_fitting"] for row in sorted(rows, key=lambda r: r["order"])
    ]
    assert all(line.length and line.diameter_mm and line.shore_end for line in kept)
    due.refresh_from_db()
    assert due.state == "fast"
    assert tieups.newest(due).sort == "found"


def test_the_answer_stands_on_the_page_that_follows(on_the_dock, due):
    answer = on_the_dock.post(page(due), told(due), follow=True)
    assert "is recorded as made fast" in text(answer)


def test_a_line_not_on_is_missing_from_what_holds_her(on_the_dock, due):
    """Judged at once, with what is there: one line of three is gone."""
    first = tieups.newest(due).verdict["lines"][0]
    on_the_dock.post(page(due), told(due, **{f"line{first['order']}-how": "off"}))
    found = tieups.newest(due)
    assert (
        len(found.verdict["lines"])
        == len(tieups.TieUp.objects.filter(sort="planned").latest("id").verdict["lines"]) - 1
    )
    assert not MadeFast.objects.get().as_planned
    assert any(flag["code"] in ("few_lines", "no_spring", "not_held") for flag in found.flags)


def test_another_tag_brings_its_own_rope(on_the_dock, due):
    line = make_line(tag="WH-301", diameter_mm=Decimal(18), working_length=Decimal("7.25"))
    order = tieups.newest(due).verdict["lines"][0]["order"]
    on_the_dock.post(page(due), told(due, **{f"line{order}-how": "otherwise", f"line{order}-tag": "wh-301"}))
    kept = MadeFastLine.objects.get(line=line)
    assert (kept.length, kept.diameter_mm, kept.description) == (None, None, "")
    given = next(row for row in tieups.newest(due).scenario["lines"] if row.get("tag") == "WH-301")
    assert (given["length"], given["diameter_mm"]) == (7.25, 18.0)


def test_a_line_that_was_on_before_stays_the_one_it_was(on_the_dock, due):
    line = make_line(working_length=Decimal("7.25"))
    order = tieups.newest(due).verdict["lines"][0]["order"]
    on_the_dock.post(page(due), told(due, **{f"line{order}-how": "otherwise", f"line{order}-tag": line.tag}))
    assert line.tag in text(on_the_dock.get(page(due)))
    on_the_dock.post(page(due), told(due))
    assert MadeFastLine.objects.filter(line=line).count() == 2


def test_a_tag_nobody_knows_is_kept_as_it_was_read(on_the_dock, due):
    order = tieups.newest(due).verdict["lines"][0]["order"]
    on_the_dock.post(page(due), told(due, **{f"line{order}-how": "otherwise", f"line{order}-tag": "WH-9O1"}))
    assert MadeFastLine.objects.filter(line=None, description="tag read as WH-9O1; as on the card").exists()


def test_a_length_told_to_a_piles_face_is_kept_to_its_middle(on_the_dock):
    stay = make_stay(berth=make_berth(kind="slip"), end_in="stern", side_to="stern")
    tieups.work_out(stay, stands=False)
    row = next(r for r in tieups.newest(stay).verdict["lines"] if r["shore_fitting"].startswith("P"))
    name = f"line{row['order']}"
    on_the_dock.post(page(stay), told(stay, **{f"{name}-how": "otherwise", f"{name}-length": "5.00"}))
    kept = MadeFastLine.objects.get(number=row["order"])
    pile = kept.shore_end.fastening
    assert kept.length == Decimal(5) + pile.diameter / 2


def test_an_answer_that_is_missing_is_asked_for_and_nothing_typed_is_lost(on_the_dock, due):
    data = told(due, differed="stern line doubled")
    order = tieups.newest(due).verdict["lines"][-1]["order"]
    del data[f"line{order}-how"]
    answer = on_the_dock.post(page(due), data)
    assert answer.status_code == 422
    assert "Say of this line whether it is on." in text(answer) and "stern line doubled" in text(answer)
    assert not MadeFast.objects.exists()


def test_otherwise_without_a_word_is_asked_what(on_the_dock, due):
    order = tieups.newest(due).verdict["lines"][0]["order"]
    answer = on_the_dock.post(page(due), told(due, **{f"line{order}-how": "otherwise"}))
    assert "Say what is otherwise" in text(answer)


def test_sent_twice_is_done_once(on_the_dock, due):
    data = told(due)
    on_the_dock.post(page(due), data)
    assert on_the_dock.post(page(due), data).status_code == 302
    assert MadeFast.objects.count() == 1


@pytest.mark.parametrize(
    ("at", "words"), [("2027-10-14T15:00", "still to come"), ("2027-10-01T12:00", "more than a week ago")]
)
def test_a_time_that_cannot_be_is_refused(on_the_dock, due, at, words):
    assert words in text(on_the_dock.post(page(due), told(due, at=at)))


def test_what_was_measured_goes_beside_what_was_declared(on_the_dock, due, cast):
    declared = due.vessel.loa_declared
    on_the_dock.post(page(due), told(due, loa="10.9"))
    due.vessel.refresh_from_db()
    assert (due.vessel.loa_measured, due.vessel.loa_declared) == (Decimal("10.9000"), declared)
    assert due.vessel.loa_measured_by == cast.hand.get_username()


def test_a_boat_without_a_plan_is_told_line_by_line(on_the_dock):
    stay = make_stay(berth=make_berth(kind="stern_to"))
    answer = on_the_dock.post(
        page(stay),
        {
            "client_id": str(uuid4()),
            "at": "2027-10-14T13:00",
            "more1-description": "blue, 14 mm",
            "more1-diameter_mm": "14",
        },
    )
    assert answer.status_code == 302
    assert MadeFastLine.objects.get().description == "blue, 14 mm"
    assert tieups.newest(stay).answer == "not_known"


# --- something speaks against it ---


@pytest.fixture
def too_long():
    stay = make_stay(berth=make_berth(kind="floating", length=Decimal(6)), vessel=make_vessel())
    tieups.work_out(stay, stands=False)
    return stay


def test_against_a_flag_a_hand_gives_a_reason_and_it_is_kept(on_the_dock, too_long):
    refused = on_the_dock.post(page(too_long), told(too_long, reason=""))
    assert refused.status_code == 422 and "Write why she was made fast all the same" in text(refused)
    on_the_dock.post(page(too_long), told(too_long, reason="no other berth tonight"))
    assert "because: no other berth tonight" in MadeFast.objects.get().differed


def test_where_the_house_forbids_it_only_the_harbourmaster_enters_it(client, cast, too_long):
    house.set_rule(key="H15", value="no", by=cast.harbourmaster, reason="after last winter")
    client.force_login(cast.hand)
    refused = client.post(page(too_long), told(too_long, differed="doubled"))
    assert "Call the harbourmaster" in text(refused) and "doubled" in text(refused)
    client.force_login(cast.harbourmaster)
    assert client.post(page(too_long), told(too_long, reason="")).status_code == 302


def test_nothing_against_her_asks_for_no_reason(on_the_dock, due):
    assert fast.against(due) == []
    assert "all the same" not in text(on_the_dock.get(page(due)))
    assert on_the_dock.post(page(due), told(due, reason="")).status_code == 302


# --- who ---


def test_a_holder_has_no_such_page_and_a_stay_that_is_over_neither(client, cast, due):
    client.force_login(cast.holder)
    assert client.get(page(due)).status_code == 403
    over = make_stay(state="left", arrive=NOON - hours(30), depart=NOON - hours(2))
    client.force_login(cast.hand)
    assert client.get(page(over)).status_code == 404
    assert Stay.objects.get(pk=over.pk).state == "left"


# --- the gauge ---


def tidal():
    water = sea()
    water.save()
    return water


def test_what_the_gauge_showed_is_a_reading_of_a_tidal_water_and_changes_nothing(on_the_dock, cast):
    stay = make_stay(berth=make_berth(kind="floating", water=tidal()))
    tieups.work_out(stay, stands=False)
    answer = on_the_dock.post(page(stay), told(stay, level="1.38"), follow=True)
    (reading,) = Reading.objects.all()
    assert (reading.level, reading.at, reading.by) == (Decimal("1.38"), NOON, cast.hand)
    assert "The gauge read" in text(answer) and "prediction" in text(answer)
    assert "Nothing was changed by that" in text(answer)
    stay.refresh_from_db()
    assert stay.surge_down is None and not tieups.newest(stay).stale


def test_a_deed_sent_twice_is_one_reading(on_the_dock):
    stay = make_stay(berth=make_berth(kind="floating", water=tidal()))
    sent = told(stay, level="1.38")
    on_the_dock.post(page(stay), sent)
    on_the_dock.post(page(stay), sent)
    assert Reading.objects.count() == 1


def test_nobody_read_the_gauge_or_no_tide_is_there(on_the_dock, due):
    on_the_dock.post(page(due), told(due, level="1.38"))  # a regulated water: its level is not the moon's
    stay = make_stay(berth=make_berth(kind="floating", water=tidal()))
    on_the_dock.post(page(stay), told(stay))
    assert not Reading.objects.exists()
