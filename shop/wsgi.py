"""The site for a WSGI server, with the sender of its mail beside it."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
application = get_wsgi_application()

from shop.outbox.thread import start_sender  # noqa: E402 - its tables are known only now

start_sender()
