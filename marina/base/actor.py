"""Who is acting: told to the database, so that its own triggers can write the name into the trail.

SQLite asks through two functions that every connection brings along; a program that opens the file without
them can read, but its writes are refused. PostgreSQL reads two settings, which are told before the first write
of a transaction; reading costs nothing.
"""

from contextlib import contextmanager
from contextvars import ContextVar

_actor = ContextVar("actor", default=None)
_erasing = ContextVar("erasing", default=False)
WRITES = ("INSERT", "UPDATE", "DELETE", "MERGE", "WITH")


@contextmanager
def acting(user):
    """Everything written inside is put down to this user (or to nobody: None, an anonymous user)."""
    token = _actor.set(user.pk if user is not None and user.is_authenticated else None)
    try:
        yield
    finally:
        _actor.reset(token)


@contextmanager
def erasing():
    """Lift the protection of records that are never changed: only for emptying a database as a whole."""
    token = _erasing.set(True)
    try:
        yield
    finally:
        _erasing.reset(token)


def introduce(sender, connection, **kwargs):
    """Give a new connection what its triggers ask for (a `connection_created` receiver)."""
    if connection.vendor == "sqlite":
        connection.connection.create_function("marina_actor", 0, _actor.get)
        connection.connection.create_function("marina_erasing", 0, lambda: int(_erasing.get()))
    elif not any(isinstance(wrapper, _Teller) for wrapper in connection.execute_wrappers):
        connection.execute_wrappers.append(_Teller())


class _Teller:
    """Looks at each statement on its way to PostgreSQL, and tells who acts before one that writes.

    What was told counts for the transaction only, for a rollback takes the settings back: a statement that
    begins one, or goes back to a savepoint, makes it forget.
    """

    def __init__(self):
        self.told = None

    def __call__(self, execute, sql, params, many, context):
        session = context["connection"].connection.info
        word = str(sql).lstrip(" (\n").split(None, 1)[0].upper() if sql else ""
        if word == "ROLLBACK" or session.transaction_status == session.transaction_status.IDLE:
            self.told = None
        now = (str(_actor.get() or ""), "1" if _erasing.get() else "")
        if word in WRITES and self.told != now:
            context["cursor"].cursor.execute(
                "SELECT set_config('marina.actor', %s, false), set_config('marina.erasing', %s, false)", now
            )
            self.told = now
        return execute(sql, params, many, context)
