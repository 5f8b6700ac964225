"""A line's life: each deed an entry, only steps of the table, and the state that follows from the newest."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from tests.cast import NOON, days, fix_clock, hours, make_line
from vessels import life
from vessels.models import Inspection, Line, LineEvent
from vessels.models.line import LineEventKind, LineState
from vessels.services import mistakes
from vessels.services.inspections import inspect
from vessels.services.lines import change_line, doubts_about_tag, new_line, step

LOOKED = {"eye": [], "chock": [], "shore": [], "cleat": [], "free": [], "tail": []}


@pytest.fixture(autouse=True)
def _clock(db):
    fix_clock(NOON)


def refused(deed):
    try:
        with transaction.atomic():
            deed()
    except IntegrityError as error:
        return str(error)
    return ""


def test_every_step_of_the_table_names_deeds_and_states_that_there_are():
    assert set(life.steps()) | {"tagged", "measured", "corrected"} == set(LineEventKind.values)
    for step_ in life.steps().values():
        assert set(step_.leads) <= {*LineState.values, ""}
        assert all(set(after) <= set(LineState.values) for after in step_.leads.values())


class TestSteps:
    def test_from_order_to_the_cut_eye(self, cast):
        line = new_line(line=Line(tag="WH-200"), kind="ordered", by=cast.harbourmaster)
        for n, (kind, told) in enumerate(
            [
                ("received", {"note": "measured, tagged"}),
                ("stored", {}),
                ("issued", {}),
                ("returned", {"state": "drying"}),
                ("stored", {}),
                ("quarantine", {"note": "fuel"}),
                ("retired", {}),
                ("destroyed", {"witness": "hand 2"}),
            ]
        ):
            fix_clock(NOON + hours(n))
            step(line=line, kind=kind, by=cast.hand, **told)
        assert line.state == "destroyed"
        kinds = list(line.events.values_list("kind", flat=True))[::-1]
        assert kinds[:2] == ["ordered", "received"] and kinds[-1] == "destroyed"

    @pytest.mark.parametrize(
        ("state", "kind"),
        [("retired", "issued"), ("destroyed", "stored"), ("store", "destroyed"), ("quarantine", "issued"),
         ("retired", "repaired"), ("failed", "stored_"), ("ordered", "issued"), ("missing", "issued")],
    )  # fmt: skip
    def test_what_is_no_step_is_refused_in_words_and_by_the_database(self, cast, state, kind):
        kind = kind.rstrip("_") if kind != "stored_" else "repaired"
        line = make_line(state=state)
        with pytest.raises(ValidationError, match="is no step from there"):
            step(line=line, kind=kind, by=cast.hand, witness="somebody")
        assert not line.events.exists()
        entry = {"line": line, "kind": kind, "at": NOON, "before": state, "state": "out", "witness": "x"}
        assert "line_event_is_a_step" in refused(lambda: LineEvent.objects.create(**entry))

    def test_destroyed_needs_a_witness(self, cast):
        line = make_line(state="retired")
        with pytest.raises(ValidationError, match="who saw the eye cut"):
            step(line=line, kind="destroyed", by=cast.hand)
        entry = {"line": line, "kind": "destroyed", "at": NOON, "before": "retired", "state": "destroyed"}
        assert "line_event_destroyed_seen" in refused(lambda: LineEvent.objects.create(**entry))

    def test_the_state_follows_from_the_newest_entry(self, cast):
        line = make_line()
        assert "line_state_from_events" in refused(
            lambda: Line.objects.filter(pk=line.pk).update(state="retired")
        )
        step(line=line, kind="quarantine", by=cast.hand)
        assert "line_state_from_events" in refused(
            lambda: Line.objects.filter(pk=line.pk).update(state="store")
        )
        line.note = "another matter"
        line.save()

    def test_an_entry_that_does_not_begin_where_the_line_stands_is_refused(self):
        line = make_line(state="retired")
        entry = {"line": line, "kind": "issued", "at": NOON, "before": "store", "state": "out"}
        assert "line_event_from_its_state" in refused(lambda: LineEvent.objects.create(**entry))

    def test_a_deed_from_before_the_last_one_or_still_to_come_is_refused(self, cast):
        line = make_line()
        step(line=line, kind="quarantine", by=cast.hand)
        with pytest.raises(ValidationError, match="later entry"):
            step(line=line, kind="retired", by=cast.hand, at=NOON - hours(1))
        with pytest.raises(ValidationError, match="still to come"):
            step(line=line, kind="retired", by=cast.hand, at=NOON + hours(1))

    def test_twice_is_once(self, cast):
        line, name = make_line(), "8a1c6f0e-0d58-4f5e-9a10-6a3f3f7d6c11"
        first = step(line=line, kind="quarantine", by=cast.hand, client_id=name)
        assert step(line=line, kind="quarantine", by=cast.hand, client_id=name) == first
        assert line.events.count() == 1

    def test_a_missing_retired_line_stays_retired(self, cast):
        line = make_line(state="retired")
        step(line=line, kind="missing", by=cast.hand)
        assert line.state == "retired"

    def test_ordering_is_for_the_harbourmaster_and_nothing_for_a_holder(self, cast):
        with pytest.raises(ValidationError, match="harbourmaster"):
            new_line(line=Line(tag="WH-201"), kind="ordered", by=cast.hand)
        with pytest.raises(ValidationError, match="staff"):
            step(line=make_line(), kind="retired", by=cast.holder)

    def test_light_use_and_new_lengths_are_kept_with_the_entry(self, cast):
        line = make_line()
        step(line=line, kind="derated", by=cast.hand)
        assert line.light_use
        event = step(line=line, kind="repaired", by=cast.hand, changes={"working_length": "9.2"})
        assert event.changes == {"working_length": ["10.5", "9.2"]}
        assert float(line.working_length) == 9.2

    def test_a_line_nobody_knows_is_held_back(self, cast):
        found = new_line(line=Line(tag="WH-202"), kind="found", by=cast.hand)
        left = new_line(line=Line(tag="WH-203", owner_kind="visitor"), kind="left_behind", by=cast.hand)
        assert (found.state, left.state) == ("quarantine", "quarantine")


class TestRecord:
    def test_a_tag_is_one_lines_whatever_its_case(self, cast):
        make_line(tag="WH-7")
        with pytest.raises(ValidationError, match="in the register already"):
            new_line(line=Line(tag="wh-7"), kind="received", by=cast.hand)
        with pytest.raises(ValidationError, match="another line's tag"):
            change_line(line=make_line(tag="WH-8"), changes={"tag": "wh-7"}, by=cast.hand)

    def test_letters_that_read_like_figures_are_warned_of(self):
        assert doubts_about_tag("WH-701") == ""
        assert "the letter O and the figure 0" in doubts_about_tag("WHO-7")
        assert "the letter I and the figure 1" in doubts_about_tag("wi-7")

    def test_a_change_keeps_the_old_figure(self, cast):
        line = make_line(tag="WH-9", certificate="A")
        change_line(line=line, changes={"certificate": "B"}, by=cast.hand, note="misread")
        event = line.events.get()
        assert (event.kind, event.changes, event.state) == ("corrected", {"certificate": ["A", "B"]}, "")


class TestInspection:
    def test_a_line_that_fails_is_held_back_and_says_why(self, cast):
        line = make_line()
        look = inspect(line=line, by=cast.hand, zones=LOOKED | {"eye": ["melted"]}, diameter_found_mm="15.8")
        assert (look.advice, line.state, line.next_inspection) == ("retire", "failed", None)
        assert "R-RET-4" in line.events.get().note
        assert look.reasons[0][0] == "retire"

    def test_a_good_look_sets_the_next_by_use(self, cast):
        for kept_for, due in (("permanent", "2028-04-14"), ("store", "2028-10-14")):
            line = make_line(kept_for=kept_for)
            look = inspect(line=line, by=cast.hand, zones=LOOKED)
            assert (look.advice, line.next_inspection.isoformat(), line.state) == ("keep", due, "store")

    def test_old_rope_is_looked_at_twice_as_often(self, cast):
        line = make_line(kept_for="permanent", in_service_on=NOON.date() - days(6 * 366))
        inspect(line=line, by=cast.hand, zones=LOOKED)
        assert line.next_inspection.isoformat() == "2028-01-14"

    def test_nothing_looked_at_is_no_inspection(self, cast):
        with pytest.raises(ValidationError, match="Nothing was looked at"):
            inspect(line=make_line(), by=cast.hand, zones={})

    def test_a_person_may_be_stricter_and_not_milder(self, cast):
        line = make_line()
        with pytest.raises(ValidationError, match="not milder"):
            inspect(line=line, by=cast.hand, zones={"eye": ["melted"]}, advice="keep")
        assert inspect(line=line, by=cast.hand, zones={"eye": []}, advice="retire").advice == "retire"
        assert line.state == "failed"

    def test_a_second_look_that_finds_nothing_clears_it(self, cast):
        line = make_line(state="out")
        inspect(line=line, by=cast.hand, zones={"eye": ["melted"]})
        fix_clock(NOON + hours(1))
        inspect(line=line, by=cast.hand, zones=LOOKED)
        assert line.state == "out"

    def test_a_retired_line_is_not_inspected(self, cast):
        with pytest.raises(ValidationError, match="not inspected any more"):
            inspect(line=make_line(state="retired"), by=cast.hand, zones=LOOKED)

    def test_a_look_from_before_the_newest_changes_nothing_of_the_line(self, cast):
        line = make_line()
        inspect(line=line, by=cast.hand, zones=LOOKED)
        inspect(line=line, by=cast.hand, zones={"eye": ["melted"]}, at=NOON - days(1))
        assert line.state == "store"


class TestMistakes:
    def test_the_wrong_line_retired(self, cast):
        line = make_line(state="out")
        event = step(line=line, kind="retired", by=cast.hand)
        mistakes.correct(event=event, by=cast.hand, reason="it was its twin")
        line.refresh_from_db()
        assert line.state == "out"
        assert [e.kind for e in line.events.all()] == ["corrected", "retired"]
        assert line.events.first().corrects == event

    def test_a_later_entry_stands_in_the_way(self, cast):
        line = make_line()
        first = step(line=line, kind="quarantine", by=cast.hand)
        step(line=line, kind="retired", by=cast.hand)
        with pytest.raises(ValidationError, match="Later entries rest on this one"):
            mistakes.correct(event=first, by=cast.hand, reason="wrong")
        mistakes.correct(event=line.events.get(kind="retired"), by=cast.hand, reason="wrong")
        mistakes.correct(event=first, by=cast.hand, reason="wrong")
        line.refresh_from_db()
        assert line.state == "store"

    def test_not_twice_not_without_a_reason_and_not_a_correction(self, cast):
        line = make_line()
        event = step(line=line, kind="derated", by=cast.hand)
        with pytest.raises(ValidationError, match="Say what was wrong"):
            mistakes.correct(event=event, by=cast.hand, reason=" ")
        entry = mistakes.correct(event=event, by=cast.hand, reason="wrong line")
        line.refresh_from_db()
        assert not line.light_use
        with pytest.raises(ValidationError, match="put right already"):
            mistakes.correct(event=event, by=cast.hand, reason="again")
        with pytest.raises(ValidationError, match="not taken back"):
            mistakes.correct(event=entry, by=cast.hand, reason="again")

    def test_a_hand_puts_right_only_an_own_entry_of_the_last_day(self, cast):
        line = make_line()
        event = step(line=line, kind="retired", by=cast.harbourmaster)
        with pytest.raises(ValidationError, match="Ask the harbourmaster"):
            mistakes.correct(event=event, by=cast.hand, reason="wrong")
        own = step(line=make_line(), kind="retired", by=cast.hand)
        fix_clock(NOON + timedelta(hours=25))
        with pytest.raises(ValidationError, match="Ask the harbourmaster"):
            mistakes.correct(event=own, by=cast.hand, reason="wrong")
        mistakes.correct(event=own, by=cast.harbourmaster, reason="wrong")

    def test_the_wrong_line_inspected(self, cast):
        line = make_line(next_inspection=NOON.date(), diameter_found_mm=None)
        look = inspect(line=line, by=cast.hand, zones={"eye": ["melted"]}, diameter_found_mm="12")
        mistakes.withdraw(inspection=look, by=cast.hand, reason="its twin")
        assert (line.state, line.diameter_found_mm) == ("store", None)
        assert Inspection.objects.count() == 1
        with pytest.raises(ValidationError, match="taken back already"):
            mistakes.withdraw(inspection=look, by=cast.hand, reason="its twin")
