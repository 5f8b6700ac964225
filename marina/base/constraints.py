"""Rules that the database itself keeps, on SQLite and PostgreSQL alike.

`NoOverlap`, `Audited` and `Unchanging` are constraints of a model's Meta, so migrations carry them. Where the
engine has no such constraint they are triggers, put into the schema editor's deferred statements: Django
writes them again whenever SQLite makes a table anew (a trigger from RunSQL would be lost there in silence).
"""

from django.core.exceptions import ValidationError
from django.db import DEFAULT_DB_ALIAS
from django.db.backends.ddl_references import Statement, Table
from django.db.models import BinaryField, JSONField, Q
from django.db.models.constraints import BaseConstraint
from django.db.models.sql.query import Query


class DatabaseRule(BaseConstraint):
    """What the three classes share: names of columns, comparison, deferred triggers."""

    kept = {}  # the arguments that make up the rule, with their defaults

    def __init__(self, *, name, violation_error_code=None, violation_error_message=None, **kept):
        super().__init__(
            name=name,
            violation_error_code=violation_error_code,
            violation_error_message=violation_error_message,
        )
        for argument in self.kept:
            setattr(self, argument, kept.pop(argument, self.kept[argument]))
        if kept:
            raise TypeError(f"{type(self).__name__} {name}: no argument {', '.join(kept)}")

    def deconstruct(self):
        path, args, kwargs = super().deconstruct()
        return path, args, kwargs | {argument: getattr(self, argument) for argument in self.kept}

    def __eq__(self, other):  # without it every makemigrations finds a change
        if isinstance(other, DatabaseRule):
            return self.deconstruct() == other.deconstruct()
        return NotImplemented

    __hash__ = BaseConstraint.__hash__

    def create_sql(self, model, editor):
        sql = self.constraint_sql(model, editor)
        table = Table(model._meta.db_table, editor.quote_name)
        return sql and Statement("ALTER TABLE %(table)s ADD " + sql.replace("%", "%%"), table=table)

    def _defer(self, model, editor, template, **parts):
        """Put a statement off to the end; its table is renamed with the table that SQLite makes anew."""
        parts["table"] = Table(model._meta.db_table, editor.quote_name)
        editor.deferred_sql.append(Statement(template, **parts))

    def _trigger_name(self, editor, event):
        return editor.quote_name(f"{self.name}_{event}")

    def _drop_triggers(self, model, editor, *events):
        """PostgreSQL's way to remove the rule; SQLite drops triggers with the table it replaces."""
        if editor.connection.vendor != "postgresql":
            return None
        table = editor.quote_name(model._meta.db_table)
        drops = [f"DROP TRIGGER {self._trigger_name(editor, event)} ON {table}" for event in events]
        return Statement("; ".join(drops))


PG_EXCLUDE = (
    "CONSTRAINT %(name)s EXCLUDE USING gist"
    " (%(same)s, %(span)s(%(start)s, %(end)s, '[)') WITH &&) WHERE (%(cond)s)"
)
ROWS = "SELECT %(pk)s AS pk, %(named)s, %(start)s AS a, %(end)s AS z FROM %(table)s WHERE %(cond)s"
NO_OVERLAP = (
    "CREATE TRIGGER %(trigger)s AFTER %(event)s ON %(table)s BEGIN"
    " SELECT RAISE(ABORT, 'no overlap: %(rule)s') FROM (%(rows)s) mine JOIN (%(rows)s) other"
    " ON %(joined)s AND other.pk <> mine.pk"
    " AND (mine.z IS NULL OR other.a < mine.z) AND (other.z IS NULL OR mine.a < other.z)"
    " WHERE mine.pk = NEW.%(pk)s; END"
)


class NoOverlap(DatabaseRule):
    """No two rows of one group may overlap in time; ends may touch, an end of null is open.

    Parameters
    ----------
    group : tuple of str
        Fields that are equal within a group: whole numbers or foreign keys.
    start, end : str
        Date or time fields; `end` may be null.
    condition : Q
        The rows that count, for instance those not cancelled; all when it is left out.
    """

    kept = {"group": (), "start": "", "end": "", "condition": Q()}
    violation_error_code = "overlap"

    def _parts(self, model, editor):
        def column(name):
            return editor.quote_name(model._meta.get_field(name).column)

        dated = model._meta.get_field(self.start).get_internal_type() == "DateField"
        groups = [column(name) for name in self.group]
        return {
            "name": editor.quote_name(self.name),
            "same": ", ".join(f"int8range({g}, {g}, '[]') WITH &&" for g in groups),
            "named": ", ".join(f"{g} AS g{i}" for i, g in enumerate(groups)),
            "joined": " AND ".join(f"other.g{i} = mine.g{i}" for i in range(len(groups))),
            "start": column(self.start),
            "end": column(self.end),
            "pk": editor.quote_name(model._meta.pk.column),
            "cond": self._condition_sql(model, editor),
            "span": "daterange" if dated else "tstzrange",
        }

    def _condition_sql(self, model, editor):
        if not self.condition:
            return "1 = 1"
        query = Query(model, alias_cols=False)
        compiler = query.get_compiler(connection=editor.connection)
        sql, params = query.build_where(self.condition).as_sql(compiler, editor.connection)
        return sql % tuple(editor.quote_value(p) for p in params)

    def constraint_sql(self, model, editor):
        parts = self._parts(model, editor)
        if editor.connection.vendor == "postgresql":
            return PG_EXCLUDE % parts
        parts["rows"] = Statement(ROWS, **parts, table=Table(model._meta.db_table, editor.quote_name))
        for event in ("insert", "update"):
            self._defer(
                model,
                editor,
                NO_OVERLAP,
                **parts | {"event": event.upper(), "rule": self.name},
                trigger=self._trigger_name(editor, event),
            )
        # Touch every row once, so that overlaps already there stop the migration as they do on PostgreSQL.
        self._defer(model, editor, "UPDATE %(table)s SET %(start)s = %(start)s", start=parts["start"])
        return None

    def remove_sql(self, model, editor):
        if editor.connection.vendor == "postgresql":
            return editor._delete_constraint_sql(editor.sql_delete_check, model, self.name)
        return None

    def validate(self, model, instance, exclude=None, using=DEFAULT_DB_ALIAS):
        if exclude and {*self.group, self.start, self.end} & set(exclude):
            return
        # All fields are handed in whatever `exclude` says: the condition may name one that a form leaves out.
        if self.condition and not self.condition.check(
            instance._get_field_expression_map(model._meta), using
        ):
            return
        start, end = getattr(instance, self.start), getattr(instance, self.end)
        same = {name: getattr(instance, model._meta.get_field(name).attname) for name in self.group}
        if start is None or None in same.values():
            return  # a missing field is the field's own fault
        others = model._base_manager.using(using).filter(self.condition, **same)
        others = others.filter(Q(**{f"{self.end}__gt": start}) | Q(**{f"{self.end}__isnull": True}))
        if end is not None:
            others = others.filter(**{f"{self.start}__lt": end})
        if others.exclude(pk=instance.pk).exists():
            raise ValidationError(self.get_violation_error_message(), code=self.violation_error_code)


PG_TRAIL = """CREATE OR REPLACE FUNCTION marina_trail() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    before jsonb := CASE WHEN TG_OP <> 'INSERT' THEN to_jsonb(OLD) - TG_ARGV[2:] END;
    after_ jsonb := CASE WHEN TG_OP <> 'DELETE' THEN to_jsonb(NEW) - TG_ARGV[2:] END;
BEGIN
    IF before IS DISTINCT FROM after_ AND coalesce(current_setting('marina.erasing', true), '') = '' THEN
        INSERT INTO base_trail ("table", "row", "old", "new", "who", "when") VALUES (
            TG_ARGV[0], coalesce(after_, before) ->> TG_ARGV[1], before, after_,
            nullif(current_setting('marina.actor', true), '')::bigint, clock_timestamp());
    END IF;
    RETURN NULL;
END $$"""
PG_AUDIT = (
    "CREATE TRIGGER %(trigger)s AFTER INSERT OR UPDATE OR DELETE ON %(table)s"
    " FOR EACH ROW EXECUTE FUNCTION marina_trail(%(arguments)s)"
)
SQLITE_AUDIT = (
    "CREATE TRIGGER %(trigger)s AFTER %(event)s ON %(table)s"
    " WHEN %(before)s IS NOT %(after)s AND NOT marina_erasing() BEGIN"
    ' INSERT INTO base_trail ("table", "row", "old", "new", "who", "when") VALUES ('
    "'%(label)s', %(row)s, %(before)s, %(after)s, marina_actor(),"
    " strftime('%%Y-%%m-%%d %%H:%%M:%%f000', 'now')); END"
)
MOST_ARGUMENTS = 100  # SQLite takes 127 arguments to a function; two a column


class Audited(DatabaseRule):
    """Every insert, change and deletion of a row is written to the trail by the database itself.

    It sees what signals do not: `update()`, bulk work, raw SQL. `leave_out` names fields that do not belong
    in a log (passwords, large files).

    In a migration that adds, removes or renames a field, remove this rule before and add it again after:
    SQLite's trigger names the columns it knew. A migration of the trail itself is run on SQLite between
    `PRAGMA legacy_alter_table = ON` and `OFF`, for all these triggers name that table.
    """

    kept = {"label": "", "leave_out": ()}

    def _left_out(self, model):
        names = {model._meta.get_field(name).column for name in self.leave_out}
        return names | {f.column for f in model._meta.local_fields if isinstance(f, BinaryField)}

    def constraint_sql(self, model, editor):
        if editor.connection.vendor == "postgresql":
            editor.deferred_sql.append(PG_TRAIL)
            columns = [model._meta.pk.column, *sorted(self._left_out(model))]
            arguments = ", ".join(f"'{word}'" for word in (self.label, *columns))
            self._defer(
                model, editor, PG_AUDIT, trigger=self._trigger_name(editor, "write"), arguments=arguments
            )
            return
        old, new = self._json(model, editor, "OLD"), self._json(model, editor, "NEW")
        pk = editor.quote_name(model._meta.pk.column)
        for event, before, after, row in (
            ("insert", "NULL", new, f"NEW.{pk}"),
            ("update", old, new, f"NEW.{pk}"),
            ("delete", old, "NULL", f"OLD.{pk}"),
        ):
            self._defer(
                model,
                editor,
                SQLITE_AUDIT,
                trigger=self._trigger_name(editor, event),
                event=event.upper(),
                before=before,
                after=after,
                row=row,
                label=self.label,
            )

    def _json(self, model, editor, side):
        """SQLite's row as JSON text; more columns than one call takes are joined."""
        left_out, pairs = self._left_out(model), []
        for field in model._meta.local_fields:
            if field.column not in left_out:
                value = f"{side}.{editor.quote_name(field.column)}"
                pairs.append(
                    f"'{field.column}', {f'json({value})' if isinstance(field, JSONField) else value}"
                )
        size = MOST_ARGUMENTS // 2
        calls = [f"json_object({', '.join(pairs[i : i + size])})" for i in range(0, len(pairs), size)]
        if len(calls) == 1:
            return calls[0]
        return "'{' || " + " || ',' || ".join(f"substr({c}, 2, length({c}) - 2)" for c in calls) + " || '}'"

    def remove_sql(self, model, editor):
        return self._drop_triggers(model, editor, "write")

    def validate(self, model, instance, exclude=None, using=DEFAULT_DB_ALIAS):
        """Nothing to refuse."""


PG_REFUSE = """CREATE OR REPLACE FUNCTION marina_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    before jsonb := to_jsonb(OLD);
    after_ jsonb := CASE WHEN TG_OP = 'UPDATE' THEN to_jsonb(NEW) END;
BEGIN
    IF coalesce(current_setting('marina.erasing', true), '') <> '' THEN
        RETURN CASE WHEN TG_OP = 'DELETE' THEN OLD ELSE NEW END;
    END IF;
    FOR i IN 1 .. TG_NARGS - 1 LOOP
        IF TG_OP = 'UPDATE' AND after_ ? TG_ARGV[i] AND after_ -> TG_ARGV[i] = before -> TG_ARGV[i] THEN
            CONTINUE;
        END IF;
        RAISE EXCEPTION 'kept as written: %', TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation';
    END LOOP;
    RETURN NEW;
END $$"""
PG_KEEP = (
    "CREATE TRIGGER %(trigger)s BEFORE UPDATE OR DELETE ON %(table)s"
    " FOR EACH ROW EXECUTE FUNCTION marina_refuse(%(arguments)s)"
)
SQLITE_KEEP = (
    "CREATE TRIGGER %(trigger)s BEFORE %(event)s ON %(table)s WHEN NOT marina_erasing()%(changed)s"
    " BEGIN SELECT RAISE(ABORT, 'kept as written: %(rule)s'); END"
)


class Unchanging(DatabaseRule):
    """Rows are added and never changed or deleted; with `fields`, only those fields never change.

    In a migration that adds, removes or renames a field, remove this rule before and add it again after.
    """

    kept = {"fields": ()}

    def constraint_sql(self, model, editor):
        fields = [model._meta.get_field(name) for name in self.fields] or model._meta.local_fields
        columns = [field.column for field in fields]
        if editor.connection.vendor == "postgresql":
            editor.deferred_sql.append(PG_REFUSE)
            arguments = ", ".join(f"'{word}'" for word in (self.name, *columns))
            self._defer(
                model, editor, PG_KEEP, trigger=self._trigger_name(editor, "keep"), arguments=arguments
            )
            return
        changed = " OR ".join(f"OLD.{c} IS NOT NEW.{c}" for c in map(editor.quote_name, columns))
        for event, condition in (("update", f" AND ({changed})"), ("delete", "")):
            self._defer(
                model,
                editor,
                SQLITE_KEEP,
                trigger=self._trigger_name(editor, event),
                event=event.upper(),
                changed=condition,
                rule=self.name,
            )

    def remove_sql(self, model, editor):
        return self._drop_triggers(model, editor, "keep")

    def validate(self, model, instance, exclude=None, using=DEFAULT_DB_ALIAS):
        """The pages offer no change; whoever tries another way meets the database."""
