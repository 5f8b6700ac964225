"""Sign-ins of the demonstration: random passwords, kept in one file that only this user can read."""

import os
import secrets

from django.conf import settings

from marina.base.models import User
from marina.desk.demo.rows import data

WORDS = 3  # groups of a password
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # without what looks alike on wet paper


def sign_ins_file():
    """Where the passwords are written; the folder is not part of the project's history."""
    return settings.DATA_DIR / "demo-sign-ins.txt"


def give_passwords():
    """A password for every demo sign-in; kept as long as the file and the database still fit together.

    Returns
    -------
    list of (name, password, who)
        All of them, as they stand in the file afterwards.
    """
    rows, kept = data("owners")["sign_ins"], _read()
    users = {name: User.objects.get(username=name) for name in rows}
    fits = set(rows) <= set(kept) and all(user.has_usable_password() for user in users.values())
    first = next(iter(rows))
    if not fits or not users[first].check_password(kept[first]):  # one is looked at: each look takes a while
        kept = {name: _password() for name in rows}
        for name, user in users.items():
            user.set_password(kept[name])
            user.save()
    told = [(name, kept[name], _who(row, users[name])) for name, row in rows.items()]
    _write(told)
    return told


def _password():
    return "-".join("".join(secrets.choice(LETTERS) for _ in range(4)) for _ in range(WORDS))


def _who(row, user):
    return row["shown"] if row["shown"] == row["role"] else f"{row['shown']}, {user.get_role_display()}"


def _read():
    try:
        lines = sign_ins_file().read_text("utf-8").splitlines()
    except FileNotFoundError:
        return {}
    return dict(line.split()[:2] for line in lines if line.strip() and not line.startswith("#"))


def _write(rows):
    file = sign_ins_file()
    file.parent.mkdir(exist_ok=True)
    text = ["# Sign-ins of the demonstration (invented people): name, password, who.", *map("  ".join, rows)]
    with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as out:
        out.write("\n".join(text) + "\n")
