"""Settings that contradict each other stop the start; two beginners make one key."""

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.conf import settings

from shop.web.kept_files import kept_once

HTTPS = {"SWEEPBOOK_HTTPS": "1", "SWEEPBOOK_HOSTS": "sweepbook.example", "SECRET_KEY": "x" * 60}


def start(tmp_path, *command, **more):
    inherited = {key: os.environ[key] for key in ("PATH", "HOME") if key in os.environ}
    return subprocess.run(
        [sys.executable, *command],
        cwd=settings.BASE_DIR,
        env=inherited | HTTPS | more | {"SWEEPBOOK_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=120,
    )


SERVER = ("-c", "import shop.wsgi")


@pytest.mark.parametrize("command", [("manage.py", "check"), SERVER])
def test_https_without_a_word_of_proxies_does_not_start(tmp_path, command):
    ran = start(tmp_path, *command)
    assert ran.returncode != 0
    assert "Set SWEEPBOOK_PROXIES=1 where one proxy ends TLS" in ran.stderr


@pytest.mark.parametrize("proxies", ["0", "1"])
def test_once_it_is_said_it_starts(tmp_path, proxies):
    ran = start(tmp_path, "manage.py", "check", SWEEPBOOK_PROXIES=proxies)
    assert ran.returncode == 0, ran.stderr


def test_cookies_over_https_belong_to_this_host_alone(tmp_path):
    ask = "from django.conf import settings as s; print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME)"
    said = start(tmp_path, "manage.py", "shell", "--no-imports", "-c", ask, SWEEPBOOK_PROXIES="1")
    assert said.stdout.split() == ["__Host-sessionid", "__Host-csrftoken"]


def test_many_that_begin_at_once_keep_one_key(tmp_path):
    path = tmp_path / "key"
    with ThreadPoolExecutor(16) as many:
        made = list(many.map(lambda n: kept_once(path, lambda: f"key {n}".encode()), range(64)))
    assert len(set(made)) == 1
    assert path.stat().st_mode & 0o077 == 0
    assert [one.name for one in tmp_path.iterdir()] == ["key"]
