"""The door for a web server (gunicorn marina.wsgi)."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "marina.settings")
application = get_wsgi_application()
