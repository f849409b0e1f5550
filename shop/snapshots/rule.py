"""Which version of the project's rules this process works by.

What was worked out by another version is worked out anew, however little the records changed.
"""

import hashlib

from django.conf import settings

PARTS = ("alignment", "machines", "shop", "templates")
LOCK = "requirements.txt"
# Neither changes what is worked out.
LEFT_OUT = {"__pycache__", "static", "migrations"}


def digest_of(base):
    """Hexadecimal digest of the code, the templates and the data files below a directory, and of
    the versions of the libraries they rest on."""
    found = hashlib.sha256()
    files = [path for part in PARTS for path in (base / part).rglob("*") if path.is_file()]
    for path in sorted([*files, base / LOCK]):
        name = path.relative_to(base)
        if path.exists() and not LEFT_OUT.intersection(name.parts):
            found.update(f"{name}\0{path.stat().st_size}\0".encode())
            found.update(path.read_bytes())
    return found.hexdigest()


# As the process begins: files put in place under it later are not the code it runs.
VERSION = digest_of(settings.BASE_DIR)
