"""Every published figure and closed form of `data/checks.yaml`, worked out by the engine; sources stand there."""

from collections import Counter

import pytest

from berths.tieup import checks, reckoned

ROWS = checks.rows()


@pytest.mark.parametrize("row", ROWS, ids=[row["id"] for row in ROWS])
def test_it_comes_out_as_published(row):
    check = checks.work_out(row)
    assert check.passed, (
        f"{check.what}: {check.expected} {check.unit} wanted, {check.got} came out ({check.source})"
    )


def test_there_are_enough_each_with_its_source():
    assert len(ROWS) >= 100
    assert not [i for i, n in Counter(row["id"] for row in ROWS).items() if n > 1]
    for row in ROWS:
        assert row["source"] and row["what"] and row["kind"] in ("printed", "closed form", "rule"), row["id"]
        assert isinstance(row["expected"], str | list) or {"absolute", "relative"} & set(row), row["id"]


def test_every_way_of_working_is_used():
    assert {row["how"] for row in ROWS} == set(reckoned.HOW)


@pytest.mark.parametrize("row", ROWS[:: len(ROWS) // 12], ids=lambda row: row["id"])
def test_another_figure_would_not_pass(row):
    """Or the checks could not fail."""
    wrong = {str: "another word", list: [1e6, 2e6]}.get(type(row["expected"]))
    if wrong is None:
        wrong = row["expected"] * (1 + 2 * row.get("relative", 0.0)) + 2 * row.get("absolute", 0.0) + 1e-6
    assert not checks.work_out(row | {"expected": wrong}).passed


def test_the_worked_example_closes():
    working = reckoned.example()
    assert working.residual < 0.01 and {step.unit for step in working.steps} >= {"N", "m"}


def test_all_at_once_in_their_groups():
    groups = checks.worked_out()
    assert sum(map(len, groups.values())) == len(ROWS)
    assert all(check.passed for found in groups.values() for check in found)
