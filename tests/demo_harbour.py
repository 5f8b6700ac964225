"""The invented harbour, loaded once for a whole file of tests, and what its data said when it was agreed."""

import pytest
from django.db import transaction

from marina.base.house import set_rule
from marina.desk.demo import load
from marina.desk.demo.rows import demo_clock


def at(local):
    """A local time of the demonstration, '2027-10-15T04:04', as an aware one."""
    _, zone = demo_clock()
    return demo_clock()[0].fromisoformat(local).replace(tzinfo=zone)


@pytest.fixture(scope="module")
def wendlow(django_db_setup, django_db_blocker):
    """Everything loaded, the clock standing at Thursday 14 October 2027, 17:45; taken back after the file."""
    with django_db_blocker.unblock(), transaction.atomic():
        loading = load()
        set_rule(
            key="demo_clock",
            value={"at": at("2027-10-14T17:45").isoformat()},
            by=loading.users["harbourmaster"],
            reason="the demonstration",
        )
        yield loading
        transaction.set_rollback(True)
