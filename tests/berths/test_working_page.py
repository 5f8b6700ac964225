"""The working of a stay: every figure of a line opens its sums, for those who may see the stay."""

import re
from decimal import Decimal

import pytest

from berths.cards.words import Reader
from berths.models import TieUp
from berths.selectors.working import working_of
from berths.services import tieups
from berths.tieup.scenario import Scenario
from berths.tieup.verdict import Verdict
from berths.workings import compass, plain_case
from marina.base.units import show_exactly, show_weight
from tests.berths.test_stay_page import WORKSHOP, words_of
from tests.cast import NOON, make_berth, make_stay, make_tie_up, make_user, make_vessel

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon(clock_at):
    return clock_at(NOON)


@pytest.fixture
def office(client, cast):
    client.force_login(cast.harbourmaster)
    return client


def worked_out(**fields):
    stay = make_stay(berth=fields.pop("berth", None) or make_berth(kind="slip"), **fields)
    tieups.work_out(stay)
    return stay


def verdict_of(stay):
    return Verdict.model_validate(TieUp.objects.get(stay=stay).verdict)


def test_every_line_of_the_stay_opens_its_working(office):
    stay = worked_out()
    page = office.get(f"/stays/{stay.pk}/").content.decode()
    for row in verdict_of(stay).lines:
        url = f"/stays/{stay.pk}/working/{row.order}/"
        assert f'href="{url}"' in page
        told = words_of(office.get(url))
        assert f"How line {row.order} was worked out" in told
        for piece in ("Working length:", "Length to cut:", "Source:", "Snug when the water is at:"):
            assert piece in told


def test_the_pull_of_the_working_is_the_pull_that_was_kept_and_its_forces_close(office):
    stay = worked_out()
    scenario = TieUp.objects.get(stay=stay).scenario
    row = max(verdict_of(stay).lines, key=lambda r: r.peak_tension or 0)
    answer = office.get(f"/stays/{stay.pk}/working/{row.order}/")
    told = words_of(answer)
    assert scenario and answer.context["same"]
    assert re.search(
        r"Worst with the water at its (lowest|highest), -?\d+\.\d\d m above datum, in gusts of \d+ kn from the [a-z-]+ \(\d{3}\)",
        told,
    )
    assert "about the weight of" in told and "All together 0 N 0 N 0 N m" in told


def test_the_words_are_those_of_the_dock(office):
    stay = worked_out()
    for path in ("", "1/"):
        told = words_of(office.get(f"/stays/{stay.pk}/working/{path}")).lower()
        assert not [word for word in WORKSHOP if re.search(rf"\b{word}\b", told)]
        assert not re.findall(r"\b(?:stern|bow|mid)_(?:port|starboard)\b", told)


def test_a_reader_in_feet_reads_no_metre_but_in_the_sum(client):
    client.force_login(make_user("us", "harbourmaster", units="ft", words="us"))
    stay = worked_out()
    html = client.get(f"/stays/{stay.pk}/working/1/").content.decode()
    told = re.sub(r"<code>.*?</code>", "", html, flags=re.DOTALL)
    assert not re.findall(r"\d m\b|\d N\b|\d m²", told)
    assert re.search(r"\d+ ft \d+\.\d in", told) and re.search(r"\d lb\b", told)


def test_a_tie_up_of_another_way_of_working_is_said_to_be_one(office):
    stay = worked_out()
    kept = TieUp.objects.get(stay=stay)
    verdict = kept.verdict | {
        "lines": [r | {"peak_tension": 2 * (r["peak_tension"] or 1)} for r in kept.verdict["lines"]]
    }
    make_tie_up(
        stay=stay, scenario=kept.scenario, verdict=verdict, engine_version="1", made_at=NOON.replace(minute=5)
    )
    assert "The way of working has changed since" in words_of(office.get(f"/stays/{stay.pk}/working/"))
    assert "is not the one that was kept then" in words_of(office.get(f"/stays/{stay.pk}/working/1/"))


def test_what_was_kept_in_an_older_form_is_not_known(office):
    stay = make_stay()
    make_tie_up(stay=stay, scenario={"version": 0}, verdict={"version": 0})
    assert "NOT KNOWN There is nothing to go through" in words_of(office.get(f"/stays/{stay.pk}/working/"))
    assert office.get(f"/stays/{stay.pk}/working/1/").status_code == 404


def test_a_line_that_the_engine_no_longer_gives_has_no_working():
    stay = worked_out()
    row = verdict_of(stay).lines[0].model_copy(update={"id": "L99"})
    assert working_of(Scenario.model_validate(TieUp.objects.get().scenario), row) == (None, False)


def test_a_holder_opens_the_own_working_and_no_other(client, cast):
    own = worked_out(vessel=make_vessel(owner=cast.holder.owner))
    foreign = worked_out()
    client.force_login(cast.holder)
    assert client.get(f"/stays/{own.pk}/working/").status_code == 200
    assert client.get(f"/stays/{own.pk}/working/1/").status_code == 200
    for pk in (foreign.pk, 987654):
        assert client.get(f"/stays/{pk}/working/").status_code == 404
        assert client.get(f"/stays/{pk}/working/1/").status_code == 404


def test_the_engine_is_not_asked_by_lists_nor_by_the_stay(office, monkeypatch):
    stay = worked_out()
    monkeypatch.setattr("berths.tieup.tie.solve", None)
    for path in (f"/stays/{stay.pk}/", "/", f"/berths/{stay.berth.code}/"):
        assert office.get(path).status_code == 200


def test_a_stay_leads_to_the_water_of_its_berth(office):
    stay = worked_out()
    assert (
        f'href="/berths/{stay.berth.code}/level/?stay={stay.pk}"'
        in office.get(f"/stays/{stay.pk}/").content.decode()
    )


def test_figures_of_a_working_in_feet_and_pounds():
    assert show_exactly(-0.001, "m", "ft") == "0 ft 0.0 in" and show_exactly(-0.3, "N") == "0 N"
    assert show_exactly(-0.001, "m/s") == "0.00 m/s (0.0 kn)"
    assert show_exactly(1.221, "kg/m3", "ft") == "0.0762 lb/cu ft"
    assert show_weight(9806.65) == "1.0 t" and show_weight(None) == "not known"
    assert compass(22.4) == "north (022)" and compass(338) == "north (338)"


def test_a_case_is_said_in_the_readers_units():
    text = "greatest pull (low 0.41 m, 30 kn from 240), and at 1.30 m, calm"
    assert (
        plain_case(text, Reader(units="ft"))
        == "greatest pull (low 1 ft 4 in, 30 kn from 240), and at 4 ft 3 in, calm"
    )


def test_what_a_flag_rests_on_is_told(office):
    stay = worked_out(berth=make_berth(kind="slip", bed_z=Decimal("-1")))
    told = words_of(office.get(f"/stays/{stay.pk}/working/"))
    assert (
        "What each flag rests on" in told and "Rests on: bed, draft and water" in told
    ) or "draught" in told
