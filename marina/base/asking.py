"""A rule that looks at other tables before a row is written, on SQLite and PostgreSQL alike.

Its triggers name a second table, and SQLite makes tables anew in a migration: a trigger that names one which is
just being replaced stops it. So these triggers are taken down before each run of `migrate` and put up after it
(`take_down`, `put_up`, connected in `apps.py`); to a migration the rule is a line of the model's state only.
"""

from django.apps import apps as installed
from django.db import connections

from marina.base.constraints import DatabaseRule

PG_FUNCTION = """CREATE OR REPLACE FUNCTION %(function)s() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF coalesce(current_setting('marina.erasing', true), '') <> '' THEN RETURN NEW; END IF;
    %(hold)s
    IF %(question)s THEN
        RAISE EXCEPTION 'refused: %(rule)s' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$"""
PG_TRIGGER = (
    "CREATE TRIGGER %(trigger)s BEFORE %(event)s ON %(table)s FOR EACH ROW WHEN (%(changed)s)"
    " EXECUTE FUNCTION %(function)s()"
)
PG_HOLD = "PERFORM 1 FROM %(held)s WHERE id = NEW.%(column)s FOR SHARE;"
SQLITE_TRIGGER = (
    "CREATE TRIGGER %(trigger)s BEFORE %(event)s ON %(table)s"
    " WHEN NOT marina_erasing() AND (%(changed)s) AND (%(question)s) BEGIN SELECT RAISE(ABORT, 'refused: %(rule)s'); END"
)


class RefusedWhile(DatabaseRule):
    """A row is refused while a question about it, which may read other tables, is answered with yes.

    Parameters
    ----------
    question : str
        A condition both engines understand, with `NEW.column` for the row; tables and columns by their own names.
    insert : bool
        Ask of new rows.
    update : tuple of str
        Ask when one of these fields changes; `OLD.column` may stand in the question if `insert` is False.
    holds : tuple of str
        (table, column): the row of `table` that `column` names is held first, so that nobody changes the answer
        between question and writing. SQLite has one writer at a time and needs no hold.
    """

    kept = {"question": "", "insert": True, "update": (), "holds": ()}

    def constraint_sql(self, model, editor):
        """Nothing within a migration; see the top of this file."""

    def remove_sql(self, model, editor):
        """As above."""

    def validate(self, model, instance, exclude=None, using=None):
        """Forms and services ask in their own words; whoever tries another way meets the database."""

    def events(self, model, vendor="sqlite"):
        """(name of the trigger, event, condition that something changed) for each."""
        if self.insert:
            yield f"{self.name}_on_insert", "INSERT", "1 = 1"
        if self.update:
            columns = [f'"{model._meta.get_field(name).column}"' for name in self.update]
            differs = "IS DISTINCT FROM" if vendor == "postgresql" else "IS NOT"
            changed = " OR ".join(f"OLD.{c} {differs} NEW.{c}" for c in columns)
            yield f"{self.name}_on_update", f"UPDATE OF {', '.join(columns)}", changed

    def statements(self, model, vendor):
        """What puts the rule up."""
        parts = {"rule": self.name, "table": f'"{model._meta.db_table}"', "question": self.question}
        if vendor == "postgresql":
            parts["function"] = f'"{self.name}_asks"'
            hold = PG_HOLD % dict(zip(("held", "column"), self.holds, strict=True)) if self.holds else ""
            yield PG_FUNCTION % (parts | {"hold": hold})
        template = PG_TRIGGER if vendor == "postgresql" else SQLITE_TRIGGER
        for name, event, changed in self.events(model, vendor):
            yield template % (parts | {"trigger": f'"{name}"', "event": event, "changed": changed})


def _rules(registry, connection):
    tables = set(connection.introspection.table_names())
    for model in registry.get_models():
        for rule in model._meta.constraints:
            if isinstance(rule, RefusedWhile) and model._meta.db_table in tables:
                yield model, rule


def take_down(sender, using, **kwargs):
    """Before `migrate`: every trigger of these rules goes, whatever its model looked like then."""
    connection = connections[using]
    with connection.cursor() as cursor:
        for name, table in _standing(connection, cursor):
            on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
            cursor.execute(f'DROP TRIGGER "{name}"{on}')


def put_up(sender, using, apps=None, **kwargs):
    """After `migrate`: the rules of the models as they now are."""
    connection = connections[using]
    with connection.cursor() as cursor:
        standing = {name for name, _ in _standing(connection, cursor)}
        for model, rule in _rules(apps or installed, connection):
            if not standing & {name for name, *_ in rule.events(model)}:
                for statement in rule.statements(model, connection.vendor):
                    cursor.execute(statement)


def _standing(connection, cursor):
    """(name, table) of the triggers of these rules that are there."""
    if connection.vendor == "postgresql":
        cursor.execute(
            "SELECT tgname, relname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid"
            " WHERE NOT tgisinternal AND (tgname LIKE '%\\_on\\_insert' OR tgname LIKE '%\\_on\\_update')"
        )
    else:
        cursor.execute(
            "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger'"
            " AND (name LIKE '%\\_on\\_insert' ESCAPE '\\' OR name LIKE '%\\_on\\_update' ESCAPE '\\')"
        )
    return cursor.fetchall()
