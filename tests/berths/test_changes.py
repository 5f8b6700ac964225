"""Why a tie-up is out of date, as a harbourmaster reads it: plain sentences, whatever row or field it was."""

import re

import pytest

from berths.changes import changed
from berths.services import stale
from tests.rows import ROWS

SAID = {
    "stay Sea Thrift at C7: added": "Sea Thrift was given C7",
    "stay Sea Thrift at C7: berth, where she lies, x changed": "Sea Thrift was moved to C7",
    "stay Sea Thrift at C7: state changed": "Sea Thrift is at C7 no more",
    "stay Sea Thrift at C7: deleted": "Sea Thrift is at C7 no more",
    "stay Sea Thrift at C7: depart changed": "when Sea Thrift at C7 comes and goes was changed",
    "stay Sea Thrift at C7: allowance down, allowance up changed": (
        "what is allowed for weather for Sea Thrift at C7 was changed"
    ),
    "water Sea: surge up changed": "the allowance for weather of Sea was changed",
    "water Sea: kind, datum, station id, station, lower limit, or LAT changed": (
        "the lowest and highest level of Sea and how the level of Sea is known and the zero that heights in Sea are "
        "counted from were changed"
    ),
    "water Inner basin: the gate holds out the outer water up to changed": "the gate of Inner basin was changed",
    "notice Inner basin: 1.6 to 1.6 m from 15 Oct 2027: added": (
        "a notice for Inner basin, 1.6 to 1.6 m from 15 Oct 2027 was entered"
    ),
    "reading Inner basin 2.4 m at 14 Oct 17:45 UTC: added": (
        "a reading of the gauge, Inner basin 2.4 m, was entered"
    ),
    "forecast forecast from 14 Oct 2027 12:00 UTC: ends, surge up changed": (
        "what is allowed for weather for a time was changed"
    ),
    "line use WH-108 to Blue Ledger at Q2: added": (
        "a line in use: WH-108 to Blue Ledger at Q2, was entered"
    ),
    "line use WH-108 to Blue Ledger at Q2: back, closed as changed": (
        "whether a line is back, WH-108 to Blue Ledger at Q2, was changed"
    ),
    "vessel Plum Halyard: draft measured, draft measured on, draft measured by changed": (
        "Plum Halyard: draft measured changed"
    ),
    "line WH-001: diameter, found [mm] changed": "line WH-001: diameter, found changed",
    "surge was changed by hand": "surge was changed by hand",
}  # fmt: skip


@pytest.mark.parametrize("kept", SAID)
def test_it_reads_plainly(kept):
    assert changed(kept) == SAID[kept]


@pytest.mark.django_db
@pytest.mark.parametrize("model", stale.AFFECTED, ids=lambda model: model.__name__)
def test_no_row_is_told_in_the_words_of_the_records(model):
    """Each kind of row, entered, taken away and each of its fields: no underscore, no unit in brackets, no kind."""
    row = ROWS[model.__name__]()
    called = stale._called(row)
    fields = stale._differing(model, None, row)
    for what in ("added", "deleted", *(f"{field} changed" for field in fields)):
        told = changed(f"{called}: {what}")
        assert told != f"{called}: {what}" or model._meta.verbose_name in ("berth", "fastening", "line"), told
        assert not re.search(r"_|\[|UTC|: added|: deleted", told), told
