"""What every test can ask for: the cast, and a clock that stands still."""

import pytest

from tests import cast as people


@pytest.fixture
def cast(db):
    """Four invented people, one for each view on the harbour; see `tests/cast.py`."""
    return people.Cast()


@pytest.fixture
def clock_at(db):
    """`clock_at(moment)` fixes the harbour's clock for this test."""
    return people.fix_clock
