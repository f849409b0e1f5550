"""Files of our own that hold many: a zip with a manifest that names each by size and SHA-256.

A package that comes from elsewhere is trusted in nothing: names, sizes and hashes are checked
before anybody uses what is in it, and nothing is ever unpacked by the name it gives itself.
"""

import contextlib
import hashlib
import json
import re
import zipfile
import zlib
from dataclasses import dataclass

from shop.web.errors import Refused

MANIFEST = "manifest.json"
MAX_MANIFEST_BYTES = 64 * 1024 * 1024
CHUNK = 256 * 1024
# What shrinks more than this is no record and no picture; deflate itself ends at about 1,030.
MAX_RATIO = 200
SMALL = 1024 * 1024
_PART = r"\w[\w.,()+ -]*"
_NAME = re.compile(rf"{_PART}(/{_PART})*")
_PACKED_BADLY = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    OSError,
    ValueError,
)


@dataclass(frozen=True)
class Limits:
    """The most a package from elsewhere may come to, unpacked: all of it, its records by
    themselves, and how many rows these are."""

    total_bytes: int
    record_bytes: int = 2 * 1024**3
    rows: int = 5_000_000
    entries: int = 500_000


class Packer:
    """Writes a package; the manifest comes last, once all else is in."""

    def __init__(self, file):
        self._zip = zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED)
        self._entries = {}

    def add(self, name, chunks, *, shrink=True):
        """Put in what `chunks` (of bytes) come to, under `name`."""
        entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
        entry.compress_type = zipfile.ZIP_DEFLATED if shrink else zipfile.ZIP_STORED
        entry.external_attr = 0o600 << 16
        digest, size = hashlib.sha256(), 0
        with self._zip.open(entry, "w", force_zip64=True) as out:
            for chunk in chunks:
                out.write(chunk)
                digest.update(chunk)
                size += len(chunk)
        self._entries[name] = {"bytes": size, "sha256": digest.hexdigest()}

    def finish(self, *, sign=None, **facts):
        """Write the manifest with `facts` and close; `sign` adds to all of them, entries included,
        what proves them."""
        facts = {**facts, "entries": self._entries}
        text = json.dumps(sign(facts) if sign else facts, indent=1, sort_keys=True)
        self._zip.writestr(MANIFEST, text)
        self._zip.close()


class Package:
    """A package opened for reading; `facts` is its manifest. Close it when done."""

    def __init__(self, file, *, kind, version, limits):
        """Check names, declared sizes and the manifest; raises Refused.

        kind: what the manifest must say it is. version: the newest format this site reads.
        """
        try:
            self._zip = zipfile.ZipFile(file)
        except _PACKED_BADLY as error:
            raise Refused(f"This is not a {kind}: it cannot be opened as a zip file.") from error
        self.limits = limits
        self._infos = _checked(self._zip.infolist(), limits)
        self.facts = self._manifest(kind)
        if not 1 <= self.facts["version"] <= version:
            raise Refused(
                f"This {kind} has format {self.facts['version']}; this site reads up to format "
                f"{version}. Bring the site up to date first."
            )
        self._compare_names()

    def _manifest(self, kind):
        if MANIFEST not in self._infos:
            raise Refused(f"This is not a {kind}: it has no {MANIFEST}.")
        if self._infos[MANIFEST].file_size > MAX_MANIFEST_BYTES:
            raise Refused(f"The {MANIFEST} is too long.")
        try:
            facts = json.loads(b"".join(self._chunks(MANIFEST)))
        except (ValueError, RecursionError) as error:
            raise Refused(f"The {MANIFEST} cannot be read.") from error
        if not isinstance(facts, dict) or facts.get("kind") != kind:
            raise Refused(f"This is not a {kind}, by what its {MANIFEST} says.")
        if type(facts.get("version")) is not int or not _are_entries(facts.get("entries")):
            raise Refused(f"The {MANIFEST} does not say its version and what is in the file.")
        return facts

    def _compare_names(self):
        inside, told = set(self._infos) - {MANIFEST}, set(self.facts["entries"])
        for name in sorted(inside ^ told)[:1]:
            where = "is in the file but not" if name in inside else "is missing, though it stands"
            raise Refused(f"'{name}' {where} in the {MANIFEST}.")

    def names(self, folder=""):
        """The names of what is in it below a folder, in order."""
        return sorted(name for name in self.facts["entries"] if name.startswith(folder))

    def sha256(self, name):
        """What the manifest says is an entry's SHA-256."""
        return self.facts["entries"][name]["sha256"]

    def verify(self):
        """Read everything once and hold it against its size and SHA-256; raises Refused."""
        for name in self.facts["entries"]:
            for _chunk in self.chunks(name):
                pass

    def chunks(self, name):
        """Yield the bytes of one entry; raises Refused where they differ from the manifest."""
        said = self.facts["entries"][name]
        digest, size = hashlib.sha256(), 0
        for chunk in self._chunks(name):
            digest.update(chunk)
            size += len(chunk)
            yield chunk
        if size != said["bytes"] or digest.hexdigest() != said["sha256"]:
            raise Refused(f"'{name}' is not what it was when the file was written.")

    def _chunks(self, name):
        """Yield the bytes of one entry, never more of them than it declares."""
        left = self._infos[name].file_size
        try:
            with self._zip.open(self._infos[name]) as entry:
                while chunk := entry.read(CHUNK):
                    left -= len(chunk)
                    if left < 0:
                        raise Refused(f"'{name}' is longer than it declares.")
                    yield chunk
        except _PACKED_BADLY as error:
            raise Refused(f"'{name}' cannot be unpacked.") from error

    def close(self):
        self._zip.close()


@contextlib.contextmanager
def opened(file, *, kind, version, limits):
    """The `Package` in a file or at a path, closed afterwards; raises Refused."""
    package = Package(file, kind=kind, version=version, limits=limits)
    try:
        yield package
    finally:
        package.close()


def _checked(infos, limits):
    """The entries by name; raises Refused for names that lead elsewhere and for bombs."""
    if len(infos) > limits.entries:
        raise Refused(f"There are {len(infos):,} files in it; expected {limits.entries:,} at most.")
    named = {}
    for info in infos:
        if not is_plain_name(info.filename):
            raise Refused(f"{info.filename[:80]!r} is not a name that a file in here may have.")
        if info.filename in named:
            raise Refused(f"'{info.filename}' is in it twice.")
        if info.flag_bits & 1:
            raise Refused(f"'{info.filename}' is locked by a password.")
        if info.file_size > SMALL and info.file_size > MAX_RATIO * info.compress_size:
            raise Refused(f"'{info.filename}' unpacks to more than {MAX_RATIO} times its size.")
        named[info.filename] = info
    total = sum(info.file_size for info in infos)
    if total > limits.total_bytes:
        raise Refused(
            f"It unpacks to {total:,} bytes; there is room for {limits.total_bytes:,} here."
        )
    return named


def is_plain_name(name):
    """Whether a name stays below the folder it is put in, on every system."""
    return len(name) <= 300 and _NAME.fullmatch(name) is not None


def _are_entries(entries):
    return isinstance(entries, dict) and all(
        isinstance(said, dict)
        and type(said.get("bytes")) is int
        and isinstance(said.get("sha256"), str)
        for said in entries.values()
    )


def chunks_of(file):
    """Yield what an open file holds, piece by piece."""
    while chunk := file.read(CHUNK):
        yield chunk
