"""Small secrets that are made once and kept in a file. Knows nothing of Django."""

import contextlib
import os
import tempfile


def kept_once(path, make):
    """The bytes kept at a path; made by `make()` the first time, by one of many that begin at once.

    It is written whole under another name and given its own by a link, which fails where somebody
    else's stands already.
    """
    if not path.exists():
        handle, made = tempfile.mkstemp(dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(make())
            with contextlib.suppress(FileExistsError):
                os.link(made, path)
        finally:
            os.unlink(made)
    return path.read_bytes().strip()
