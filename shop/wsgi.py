"""The site for a WSGI server, with the sender of its mail beside it."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
application = get_wsgi_application()

from shop.outbox.thread import start_sender  # noqa: E402 - its tables are known only now
from shop.web.checks import refuse_to_start  # noqa: E402

refuse_to_start()
start_sender()
