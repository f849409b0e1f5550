"""How gunicorn serves a site of one's own: `gunicorn -c python:shop.begin.workers shop.wsgi`."""

workers = 1
worker_class = "gthread"
threads = 8
# A report with many pictures takes seconds; nothing takes a minute.
timeout = 60
loglevel = "warning"
# Nothing here is steered while it runs; Ctrl+C stops it.
control_socket_disable = True
