"""What a hand's phone fetches: bytes of the first page with all it needs, and of the pages after it.

Counted as they go over the line: packed by the server where it packs (style, scripts), pages as they are sent. The
invented harbour, signed in as a hand, from an empty cache.
"""

import gzip
import os
import re
import tempfile

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "marina.settings")


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATABASE_URL"] = f"sqlite:///{folder}/phone.sqlite3"
        django.setup()
        measure()


def measure():
    from django.conf import settings  # noqa: PLC0415  (the settings know the file only now)
    from django.contrib.staticfiles import finders  # noqa: PLC0415
    from django.core.management import call_command  # noqa: PLC0415
    from django.test import Client  # noqa: PLC0415

    from berths.models import Stay  # noqa: PLC0415
    from marina.base.models import User  # noqa: PLC0415

    settings.ALLOWED_HOSTS = ["*"]
    call_command("demo", no_serve=True, verbosity=0, stdout=open(os.devnull, "w"))  # noqa: SIM115
    client = Client()
    client.force_login(User.objects.get(username="hand1"))
    stay = Stay.objects.get(berth__code="B3", state="fast")
    known = set()
    for number, page in enumerate(
        (
            "/",
            f"/stays/{stay.pk}/card/",
            f"/stays/{stay.pk}/made-fast/",
            "/rounds/",
            "/looks/",
            "/hand-over/",
            f"/stays/{stay.pk}/",
        )
    ):
        answer = client.get(page, HTTP_ACCEPT_ENCODING="gzip")
        parts = set(re.findall(r'(?:href|src)="/static/([^"?]+)', client.get(page).content.decode()))
        fetched = sum(len(gzip.compress(open(finders.find(part), "rb").read(), 9)) for part in parts - known)  # noqa: SIM115
        known |= parts
        kind = "first" if number == 0 else "next"
        print(
            f"{kind:5} {page:24} page {len(answer.content) / 1000:6.1f} kB, style and scripts {fetched / 1000:5.1f} kB"
        )


if __name__ == "__main__":
    main()
