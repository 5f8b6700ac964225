"""Which line got worse at which end of the water, after a tie-up was worked out again; on the page of the stay and on
the day. The water is the invented one of the demo."""

import re
from decimal import Decimal
from html import unescape

import pytest

from berths.cards.words import Reader
from berths.models import Notice, TieUp
from berths.selectors.board import day
from berths.services import stays, tieups
from berths.worse import compare, in_sentences, set_in_words, water_in_words
from tests.berths.waters import HARBOUR, NOW, local, sea
from tests.cast import fix_clock, make_berth, make_stay, make_vessel

pytestmark = pytest.mark.django_db
METRES = Reader(units="m", words="uk", clock="24", zone=HARBOUR)
FEET = Reader(units="ft", words="us", clock="12", zone=HARBOUR)


@pytest.fixture(autouse=True)
def evening():
    fix_clock(NOW)


@pytest.fixture
def stay(cast):
    water = sea(surge_down=0.3, surge_up=0.6)
    water.save()
    berth = make_berth(water=water)
    vessel = make_vessel(owner=cast.holder.owner)
    row = make_stay(berth=berth, vessel=vessel, arrive=local("14 12:00"), depart=local("15 12:00"))
    tieups.work_out(row, stands=False)
    return row


@pytest.fixture
def fast(stay, cast):
    """She is made fast as planned, with lines that stay as long as they are."""
    planned = TieUp.objects.get(stay=stay).verdict["lines"]
    lines = [
        {
            "boat_end": stay.vessel.fittings.get(code=line["boat_fitting"]),
            "shore_end": stay.berth.fastenings.get(code=line["shore_fitting"]),
            "length": Decimal(str(round(line["card_length"], 3))),
            "diameter_mm": 16,
            "material": line["material"],
            "description": "black",
        }
        for line in planned
    ]
    stays.make_fast(stay=stay, by=cast.hand, lines=lines)
    tieups.work_out(stay, stands=False)
    return stay


def lower(stay, cast, down="1.6"):
    """The water may fall much lower for her: every line reaches less far down."""
    stay = stays.allow_for_stay(
        stay=stay, by=cast.harbourmaster, down=Decimal(down), up=Decimal("0.6"), reason="a storm"
    )
    return tieups.work_out(stay, by=cast.harbourmaster, stands=False)


def words(answer):
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def with_levels(verdict, **changes):
    """The result with the figures of one line changed at its lowest or highest level."""
    levels = sorted(verdict.levels, key=lambda row: row.level)
    at = 0 if changes.pop("end") == "low" else -1
    row = levels[at]
    levels[at] = row.model_copy(update={"lines": [row.lines[0].model_copy(update=changes), *row.lines[1:]]})
    return verdict.model_copy(update={"levels": levels})


@pytest.fixture
def result(stay):
    kept = TieUp.objects.get(stay=stay)
    return tieups.Scenario.model_validate(kept.scenario), tieups.Verdict.model_validate(kept.verdict)


# --- the comparison --------------------------------------------------------------------------------------


def test_the_same_again_is_no_worse(result):
    found = compare(result, result)
    assert found["lines"] == [] and in_sentences(found, METRES) == [] and water_in_words(found, METRES) == ""


@pytest.mark.parametrize("end", ["low", "high"])
def test_a_line_that_became_too_short_is_named_with_its_end(result, end):
    asked, verdict = result
    before = with_levels(verdict, end=end, slack_calm=0.2, tension_max=900.0)
    after = with_levels(verdict, end=end, slack_calm=-0.4, tension_max=5000.0)
    (row,) = compare((asked, before), (asked, after))["lines"]
    assert (row["end"], row["what"], row["was"], row["now"]) == (end, "short", 0.2, -0.4)
    (told,) = in_sentences({"lines": [row]}, METRES)
    assert told.startswith(f"Worse at the {'lowest' if end == 'low' else 'highest'} water, ")
    assert "is 0.4" in told and told.endswith("before, it had 0.20 m to spare.")
    assert "ft" in in_sentences({"lines": [row]}, FEET)[0]


def test_a_line_that_pulls_harder_and_one_that_does_not_by_much(result):
    asked, verdict = result
    before = with_levels(verdict, end="low", slack_calm=0.2, tension_max=2000.0)
    harder = with_levels(verdict, end="low", slack_calm=0.2, tension_max=2600.0)
    (told,) = in_sentences(compare((asked, before), (asked, harder)), METRES)
    assert "pulls" in told and "before" in told and told.startswith("Worse at the lowest water")
    little = with_levels(verdict, end="low", slack_calm=0.19, tension_max=2080.0)
    assert compare((asked, before), (asked, little))["lines"] == []
    assert compare((asked, harder), (asked, before))["lines"] == []  # better is not worse


def test_another_berth_is_no_comparison(result):
    asked, verdict = result
    turned = asked.model_copy(update={"berth": asked.berth.model_copy(update={"bearing_deg": 180.0})})
    assert compare((asked, verdict), (turned, verdict)) is None
    moved = [f.model_copy(update={"x": f.x + 3}) for f in asked.berth.fittings]
    elsewhere = asked.model_copy(update={"berth": asked.berth.model_copy(update={"fittings": moved})})
    assert compare((asked, verdict), (elsewhere, verdict)) is None


def test_water_nobody_knows_is_not_compared(result):
    asked, verdict = result
    bare = verdict.model_copy(update={"summary": verdict.summary.model_copy(update={"surge_down": None})})
    found = compare((asked, verdict), (asked, bare))
    assert found["low"][1] is None and water_in_words(found, METRES) == ""


# --- kept and shown --------------------------------------------------------------------------------------


def test_the_first_working_has_nothing_before_it(stay):
    assert TieUp.objects.get(stay=stay).compared is None


def test_a_set_that_is_only_planned_follows_the_water(stay, cast):
    """Its lines are chosen anew and get longer, so none is worse; what differs is told."""
    kept = lower(stay, cast)
    assert kept.compared["lines"] == []
    told = set_in_words(kept.compared, METRES)
    assert re.search(
        r"otherwise than before\.|Line \d .* is now [\d.]+ m on the card; before, [\d.]+ m\.", told
    )


def test_kept_with_the_tie_up_and_why(fast, cast):
    kept = lower(fast, cast)
    assert kept.compared["low"][1] == pytest.approx(kept.compared["low"][0] - 1.3, abs=0.001)
    assert "allowance up changed" in kept.compared["why"]
    assert [row["end"] for row in kept.compared["lines"]][:1] == ["low"]


def test_shown_on_the_stay_page(client, fast, stay, cast):
    lower(stay, cast)
    client.force_login(cast.harbourmaster)
    page = words(client.get(f"/stays/{stay.pk}/"))
    assert re.search(r"Worked out again .*, after this: what is allowed for weather for .* was changed", page)
    assert re.search(r"Worse at the lowest water, -?1\.\d+ m: line \d \(from the [a-z ]+ cleat", page)
    assert re.search(r"Her water now reaches from .* to .*; before, ", page)
    client.force_login(cast.holder)
    page = words(client.get(f"/stays/{stay.pk}/"))
    assert "Worse at the lowest water" in page and "after this:" not in page


def test_a_smaller_allowance_makes_no_line_worse_and_says_so(client, stay, cast):
    lower(stay, cast, down="0.1")
    client.force_login(cast.hand)
    assert "No line got worse at either end of the water." in words(client.get(f"/stays/{stay.pk}/"))


def test_shown_on_the_day_for_a_day(client, fast, stay, cast):
    assert day(cast.harbourmaster)["worse"] == []
    lower(stay, cast)
    client.force_login(cast.hand)
    assert "Worked out again, and worse than before" in words(client.get("/"))
    fix_clock(local("15 18:00"))
    assert day(cast.harbourmaster)["worse"] == []


@pytest.mark.parametrize("change", ["longer", "notice"])
def test_longer_and_a_notice_go_out_of_date_and_say_which_line(stay, cast, change):
    if change == "longer":
        stays.move_stay(stay=stay, by=cast.harbourmaster, depart=local("18 12:00"))
    else:
        Notice.objects.create(
            water=stay.berth.water, low=-1, high=1, starts=local("15 00:00"), reason="drawn down"
        )
    old = TieUp.objects.get(stay=stay)
    assert old.stale and old.stale_why
    stay.refresh_from_db()
    kept = tieups.work_out(stay, stands=False)
    assert kept.pk != old.pk and kept.compared["why"] == old.stale_why
    low = kept.compared["low"]
    assert low[1] < low[0] or kept.compared["high"][1] > kept.compared["high"][0]
