"""Loads the invented harbour, in one transaction and in the order in which rows need each other."""

from django.db import transaction

from marina.base.actor import acting
from marina.desk.demo import boats, harbour, lines, stays
from marina.desk.demo.rows import Loading


def load(days=0):
    """Write what is missing of the invented harbour.

    Parameters
    ----------
    days : int
        By how many days all dates are moved along. Must be the same at every loading into one database.

    Returns
    -------
    Loading
        Everything that is there now, by its name in the data.
    """
    loading = Loading(days)
    with transaction.atomic(), acting(None):
        boats.load_people(loading)
        stays.load_house(loading)
        harbour.load_waters(loading)
        harbour.load_berths(loading)
        boats.load_boats(loading)
        lines.load_lines(loading)
        stays.load_stays(loading)
        stays.load_sets(loading)
        stays.load_loans(loading)
        stays.load_rounds(loading)
        stays.looked_before(loading)
    return loading
