"""Who is acting: told to the database, so that its own triggers can write the name into the trail.

SQLite asks through two functions that every connection brings along; PostgreSQL reads two settings of the
session. A program that opens the SQLite file without them can read, but its writes are refused.
"""

from contextlib import contextmanager, suppress
from contextvars import ContextVar

from django.db import DatabaseError, connection

_actor = ContextVar("actor", default=None)
_erasing = ContextVar("erasing", default=False)


@contextmanager
def acting(user):
    """Everything written inside is put down to this user (or to nobody: None, an anonymous user)."""
    with _set(_actor, user.pk if user is not None and user.is_authenticated else None):
        yield


@contextmanager
def erasing():
    """Lift the protection of records that are never changed: only for emptying a database as a whole."""
    with _set(_erasing, True):
        yield


@contextmanager
def _set(variable, value):
    if variable.get() == value:
        yield  # a service inside a request of the same person
        return
    token = variable.set(value)
    _tell(connection)
    try:
        yield
    finally:
        variable.reset(token)
        with suppress(DatabaseError):  # a failed transaction takes no more; the next actor is told afresh
            _tell(connection)


def introduce(sender, connection, **kwargs):
    """Give a new connection what its triggers ask for (a `connection_created` receiver)."""
    if connection.vendor == "sqlite":
        connection.connection.create_function("marina_actor", 0, _actor.get)
        connection.connection.create_function("marina_erasing", 0, lambda: int(_erasing.get()))
    elif _actor.get() is not None or _erasing.get():
        _tell(connection)


def _tell(connection):
    if connection.vendor != "postgresql" or connection.connection is None:
        return  # SQLite asks by itself; a connection not yet open is told by `introduce`
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT set_config('marina.actor', %s, false), set_config('marina.erasing', %s, false)",
            [str(_actor.get() or ""), "1" if _erasing.get() else ""],
        )
