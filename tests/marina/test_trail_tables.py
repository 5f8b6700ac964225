"""The trail and the protection of deeds survive changes of their tables, with the steps their docstrings ask for."""

import pytest
from django.db import IntegrityError, connection, migrations, models, transaction
from django.db.migrations.loader import MigrationLoader

from marina.base.constraints import Audited, Unchanging
from marina.base.models import Trail
from tests.cast import NOON, make_pier
from tests.marina.tables import Table, create

TRAIL = Audited(name="slot_trail", label="slot", leave_out=("ends",))
KEPT = Unchanging(name="slot_kept", fields=("place",))
ANEW = [migrations.RemoveConstraint("slot", "slot_trail")], [migrations.AddConstraint("slot", TRAIL)]


@pytest.fixture
def table(transactional_db):
    table = Table()
    yield table
    table.drop()


def columns_in_the_trail(table, **fields):
    row = table.rows.create(**{"place": 1, "starts": NOON} | fields)
    return set(Trail.objects.get(table="slot", row=row.pk).new)


OWN = {"id", "place", "starts", "gone"}
ALTERATIONS = {
    "nothing": ([], OWN),
    "alter a field": ([migrations.AlterField("slot", "place", models.BigIntegerField(db_index=True))], OWN),
    "add a field with default": (
        [migrations.AddField("slot", "note", models.CharField(max_length=9, default=""))],
        OWN | {"note"},
    ),
    "add a field that may be null, the rule anew": (
        [*ANEW[0], migrations.AddField("slot", "note", models.IntegerField(null=True)), *ANEW[1]],
        OWN | {"note"},
    ),
    "remove a field, the rule anew": (
        [*ANEW[0], migrations.RemoveField("slot", "gone"), *ANEW[1]],
        OWN - {"gone"},
    ),
    "rename a field, the rule anew": (
        [*ANEW[0], migrations.RenameField("slot", "gone", "away"), *ANEW[1]],
        OWN - {"gone"} | {"away"},
    ),
    "rename the table": ([migrations.AlterModelTable("slot", "trial_other_name")], OWN),
}


@pytest.mark.parametrize(("operations", "columns"), ALTERATIONS.values(), ids=ALTERATIONS)
def test_the_trail_survives(table, operations, columns):
    table.change(create(TRAIL, KEPT), *operations)
    assert columns_in_the_trail(table) == columns
    with pytest.raises(IntegrityError, match="kept as written"), transaction.atomic():
        table.rows.update(place=2)
    table.rows.update(starts=NOON.replace(year=2028))
    assert Trail.objects.filter(table="slot").count() == 2


def test_more_columns_than_one_call_takes(table):
    """SQLite's functions take 127 arguments; two are needed for a column."""
    many = {f"c{n}": models.IntegerField(default=n) for n in range(120)}
    table.change(
        create(TRAIL), *(migrations.AddField("slot", name, field) for name, field in list(many.items())[:3])
    )
    wide = migrations.CreateModel(
        "Wide",
        [("id", models.BigAutoField(primary_key=True)), *many.items()],
        {"constraints": [Audited(name="wide_trail", label="wide")]},
    )
    table.change(wide)
    rows = table.state.apps.get_model("trial", "Wide").objects
    row = rows.create()
    assert Trail.objects.get(table="wide", row=row.pk).new == {"id": row.pk} | {
        f"c{n}": n for n in range(120)
    }
    rows.update(c119=0)
    assert Trail.objects.filter(table="wide").first().new["c119"] == 0
    table.change(migrations.DeleteModel("Wide"))


def test_a_rule_taken_away_is_gone(table):
    table.change(create(TRAIL, KEPT), *ANEW[0], migrations.RemoveConstraint("slot", "slot_kept"))
    table.rows.create(place=1, starts=NOON)
    table.rows.update(place=2)
    table.rows.all().delete()
    assert not Trail.objects.filter(table="slot").exists()


def test_the_trail_itself_can_be_altered(transactional_db):
    """SQLite refuses to rename what other tables' triggers name, unless it is told not to look."""
    before = MigrationLoader(connection).project_state()
    for length in (80, 60):
        operation = migrations.AlterField("trail", "table", models.CharField(max_length=length))
        after = before.clone()
        operation.state_forwards("base", after)
        with connection.cursor() as cursor:
            if connection.vendor == "sqlite":
                cursor.execute("PRAGMA legacy_alter_table = ON")
            with connection.schema_editor(atomic=True) as editor:
                operation.database_forwards("base", editor, before, after)
            if connection.vendor == "sqlite":
                cursor.execute("PRAGMA legacy_alter_table = OFF")
        before = after
    pier = make_pier()
    assert Trail.objects.filter(table="pier", row=pier.pk).exists()
    with pytest.raises(IntegrityError, match="kept as written"), transaction.atomic():
        Trail.objects.update(row="0")
