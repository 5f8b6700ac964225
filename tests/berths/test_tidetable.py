"""A harbour's own table as CSV: every row that cannot be taken is named."""

from zoneinfo import ZoneInfo

import pytest

from berths.curve import Curve
from berths.tidetable import MOST_ROWS, read_table

GOOD = "time,height\n2027-10-14T16:33Z,0.56\n2027-10-14T22:19Z,2.28\n2027-10-15T04:40Z,0.41\n"
ROWS = [["2027-10-14T16:33:00Z", 0.56], ["2027-10-14T22:19:00Z", 2.28], ["2027-10-15T04:40:00Z", 0.41]]


@pytest.mark.parametrize(
    ("text", "zone"),
    [
        (GOOD, None),
        (GOOD.split("\n", 1)[1], None),
        (GOOD.replace(",", ";").replace("0.56", "0,56"), None),
        (GOOD.replace(",", "\t"), None),
        (GOOD.replace("Z", "+00:00"), None),
        (
            GOOD.replace("T16", "T17").replace("T22", "T23").replace("T04", "T05").replace("Z", ""),
            "Europe/London",
        ),
        ("\n" + GOOD.replace("\n", "\r\n\r\n"), None),
    ],
)
def test_taken(text, zone):
    assert read_table(text, highs_and_lows=True, zone=zone and ZoneInfo(zone)) == ROWS


def test_feet():
    """1 ft is 0.3048 m."""
    found = read_table("2027-10-14T16:33Z,10\n2027-10-14T22:19Z,-1.5", highs_and_lows=False, unit="ft")
    assert [z for _, z in found] == [3.048, -0.4572]


def faults(text, **how):
    with pytest.raises(ValueError, match=r".") as refused:
        read_table(text, **{"highs_and_lows": True} | how)
    return str(refused.value).splitlines()


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("2027-10-15T10:41,2.43", "has no zone"),
        ("soon,2.43", "'soon' is no time"),
        ("2027-10-15T10:41Z,two", "'two' is no height"),
        ("2027-10-15T10:41Z,nan", "'nan' is no height"),
        ("2027-10-15T10:41Z,", "'' is no height"),
        ("2027-10-15T10:41Z,243", "look at the decimal point"),
        ("2027-10-15T10:41Z,2.43,high", "3 cells"),
        ("2027-10-15T10:41Z", "1 cells"),
        ("2027-10-15T04:40Z,2.43", "stands twice, or before the row above it"),
        ("2027-10-15T04:39Z,2.43", "stands twice, or before the row above it"),
        ("2027-10-16T10:41Z,2.43", "more than 30 h after the row above it"),
    ],
)
def test_a_bad_row_is_named_as_a_spreadsheet_counts(row, words):
    (fault,) = faults(GOOD + row)
    assert fault.startswith("row 5: ")
    assert words in fault


def test_a_missing_low_is_named_where_it_is_missing():
    (fault,) = faults(GOOD + "2027-10-15T10:41Z,2.43\n2027-10-15T23:54Z,2.38\n2027-10-16T05:12Z,0.37")
    assert fault.startswith("row 6: neither a high nor a low")


def test_levels_have_no_longest_gap_and_need_no_turns():
    text = "2027-01-01T00:00Z,1.0\n2027-03-01T00:00Z,1.1\n2027-06-01T00:00Z,1.2"
    assert len(read_table(text, highs_and_lows=False)) == 3


def test_all_faults_at_once_and_the_rest_counted():
    found = faults("\n".join(["time,height", *["soon,1"] * 23]))
    assert found[0].startswith("row 2: ")
    assert len(found) == 21
    assert found[-1] == "and 3 more rows"


@pytest.mark.parametrize("text", ["", "time,height", "time,height\n2027-10-14T16:33Z,0.56"])
def test_too_few_rows(text):
    assert "at least two rows" in faults(text)[0]


def test_times_of_the_nights_when_the_clocks_change():
    london = ZoneInfo("Europe/London")
    (twice,) = faults("2027-10-31T01:30,1\n2027-10-31T08:00,2", zone=london)
    assert "row 1: 2027-10-31T01:30 comes twice" in twice
    (gap,) = faults("2027-03-28T01:30,1\n2027-03-28T08:00,2", zone=london)
    assert "row 1: 2027-03-28T01:30 does not come" in gap
    rows = read_table("2027-10-31T01:30+01:00,1\n2027-10-31T01:30+00:00,2", highs_and_lows=True, zone=london)
    assert [t for t, _ in rows] == ["2027-10-31T00:30:00Z", "2027-10-31T01:30:00Z"]


def test_what_is_no_table_at_all():
    assert "cannot be read as a table" in faults('2027-10-14T16:33Z,"0.56')[0]
    assert "at most" in faults("2027-10-14T16:33Z,1\n" * (MOST_ROWS + 1))[0]


def test_what_is_taken_makes_a_curve():
    """By hand: half a cosine; a third of the way it has risen by a quarter."""
    rows = read_table(GOOD, highs_and_lows=True)
    curve = Curve.of_table([(t.rstrip("Z"), z) for t, z in rows], highs_and_lows=True)
    third = "2027-10-14T18:28:20"  # of the 5 h 46 min from 16:33 on
    assert curve.at(third) == pytest.approx(0.56 + (2.28 - 0.56) / 4, abs=0.01)
