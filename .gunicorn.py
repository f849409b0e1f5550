"""How gunicorn serves the site: `gunicorn -c .gunicorn.py shop.wsgi`.

WEB_CONCURRENCY sets the number of workers, SWEEPBOOK_BIND the address. A proxy that speaks TLS
stands in front; what it says of the caller is believed only from this machine.
"""

import os

os.environ.setdefault("SWEEPBOOK_LOG", "json")
from shop.web.logs import JSON_LINES

bind = os.environ.get("SWEEPBOOK_BIND", "127.0.0.1:8000")
workers = int(os.environ.get("WEB_CONCURRENCY", "2"))
worker_class = "gthread"
threads = 4
# A report with many pictures takes seconds; nothing takes a minute.
timeout = 60
graceful_timeout = 30
keepalive = 5
# A worker is replaced now and then, so that memory that leaks somewhere comes back.
max_requests = 5000
max_requests_jitter = 500
logconfig_dict = JSON_LINES
accesslog = None
# Nothing here is steered while it runs; systemd starts, reloads and stops it.
control_socket_disable = True
