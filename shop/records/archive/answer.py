"""A package taken out, as the answer to a request."""

import tempfile

from django.http import FileResponse


def package_answer(write, name):
    """What `write` puts into a file, as a download of that name; what it raises goes on."""
    file = tempfile.TemporaryFile()  # noqa: SIM115 - the answer closes it
    write(file)
    file.seek(0)
    return FileResponse(file, as_attachment=True, filename=name)
