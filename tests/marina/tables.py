"""A trial table that tests take through migrations, as Django would."""

from django.db import connection, migrations, models
from django.db.migrations.state import ProjectState


def create(*constraints):
    return migrations.CreateModel(
        "Slot",
        [
            ("id", models.BigAutoField(primary_key=True)),
            ("place", models.IntegerField()),
            ("starts", models.DateTimeField()),
            ("ends", models.DateTimeField(null=True)),
            ("gone", models.BooleanField(default=False)),
        ],
        {"constraints": list(constraints)},
    )


class Table:
    def __init__(self):
        self.state, self.name = ProjectState(), "Slot"

    def change(self, *operations):
        for operation in operations:
            after = self.state.clone()
            operation.state_forwards("trial", after)
            with connection.schema_editor(atomic=True) as editor:
                operation.database_forwards("trial", editor, self.state, after)
            self.state = after

    @property
    def rows(self):
        return self.state.apps.get_model("trial", self.name).objects

    def drop(self):
        with connection.schema_editor() as editor:
            editor.delete_model(self.state.apps.get_model("trial", self.name))
