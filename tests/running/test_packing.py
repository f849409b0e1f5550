"""Packages from elsewhere: names that lead out of their folder, bombs, and files that were changed.

Zip-slip and decompression bombs: CWE-22 and CWE-409 of the Common Weakness Enumeration.
"""

import io
import json
import struct
import zipfile
import zlib

import pytest

from shop.records.packing import MANIFEST, Limits, Packer, is_plain_name, opened
from shop.web.errors import Refused

KIND = "test package"
LIMITS = Limits(total_bytes=50_000_000, entries=20)


def packed(entries, **facts):
    """A package as the site writes it."""
    file = io.BytesIO()
    packer = Packer(file)
    for name, content in entries.items():
        packer.add(name, [content])
    packer.finish(**{"kind": KIND, "version": 1} | facts)
    file.seek(0)
    return file


def zipped(*entries, method=zipfile.ZIP_DEFLATED):
    """A zip of (name, content) with a manifest that names none of them."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", method) as made:
        for name, content in entries:
            made.writestr(name, content)
        told = {"kind": KIND, "version": 1, "entries": {}}
        made.writestr(MANIFEST, json.dumps(told))
    file.seek(0)
    return file


def refusal(file, limits=LIMITS):
    """What is said when the package is opened and read through."""
    with pytest.raises(Refused) as refused, opened(file, kind=KIND, version=1, limits=limits) as it:
        it.verify()
    return str(refused.value)


def test_what_was_packed_is_found_again():
    with opened(packed({"a/b.txt": b"one", "c": b""}), kind=KIND, version=1, limits=LIMITS) as it:
        it.verify()
        assert it.names() == ["a/b.txt", "c"]
        assert it.names("a/") == ["a/b.txt"]
        assert b"".join(it.chunks("a/b.txt")) == b"one"


@pytest.mark.parametrize(
    "name",
    [
        "../out",
        "a/../../out",
        "/etc/passwd",
        "C:/out",
        "C:\\out",
        "..\\out",
        "a//b",
        "./a",
        "a/",
        ".hidden",
        "a/.hidden",
        "",
        "a\x00b",
        "a\nb",
        "~root",
        "a" * 301,
    ],
)
def test_a_name_that_leads_elsewhere_is_no_name(name):
    assert not is_plain_name(name)


@pytest.mark.parametrize(
    "name", ["a", "files/2025/Bericht_ä.pdf", "teeth/photo_x7Q.jpg", "a b (1)"]
)
def test_a_plain_name_is_one(name):
    assert is_plain_name(name)


@pytest.mark.parametrize("name", ["../out", "/etc/passwd", "a/../../out", "..\\out"])
def test_a_zip_with_a_name_that_leads_elsewhere_is_refused(name):
    assert "is not a name" in refusal(zipped((name, b"x")))


def test_a_bomb_is_refused_by_what_it_declares():
    assert "more than 200 times its size" in refusal(zipped(("bomb", bytes(20_000_000))))


def test_many_files_of_moderate_size_are_refused_together():
    small = Limits(total_bytes=1000)
    entries = [(f"f{n}", bytes(range(256))) for n in range(5)]
    assert "there is room for 1,000" in refusal(zipped(*entries), small)


def test_too_many_files_are_refused():
    assert "expected 20 at most" in refusal(zipped(*[(f"f{n}", b"") for n in range(21)]))


def test_a_bomb_that_declares_less_than_it_is_unpacks_to_no_more_than_that():
    """A local header and a directory that both lie: 5 MB of zeros declared as 10 bytes."""
    file = packed({"lie": bytes(5_000_000)})
    content = bytearray(file.getvalue())
    with zipfile.ZipFile(file) as made:
        true = made.getinfo("lie")
    for size in (struct.pack("<L", true.file_size), struct.pack("<Q", true.file_size)):
        content = content.replace(size, (10).to_bytes(len(size), "little"))
    taken = []
    with opened(io.BytesIO(content), kind=KIND, version=1, limits=LIMITS) as it:
        with pytest.raises(Refused):
            taken.extend(it.chunks("lie"))
        assert sum(map(len, taken)) <= 10


def test_a_zip_within_a_zip_is_not_unpacked():
    inner = zipped(("bomb", bytes(20_000_000))).getvalue()
    with opened(packed({"inner": inner}), kind=KIND, version=1, limits=LIMITS) as it:
        assert b"".join(it.chunks("inner")) == inner


@pytest.mark.parametrize(
    "content",
    [b"", b"not a zip", b"PK\x03\x04", b"PK\x05\x06" + bytes(18), bytes(1000)],
    ids=["empty", "text", "a head alone", "a zip of nothing", "zeros"],
)
def test_what_is_no_package_is_refused(content):
    assert f"This is not a {KIND}" in refusal(io.BytesIO(content))


def test_a_package_cut_short_is_refused():
    whole = packed({"a": b"one" * 1000}).getvalue()
    assert f"This is not a {KIND}" in refusal(io.BytesIO(whole[:-30]))


def test_a_file_that_was_changed_is_refused():
    old = packed({"a": b"one", "b": b"two"})
    changed = io.BytesIO()
    with zipfile.ZipFile(old) as was, zipfile.ZipFile(changed, "w") as made:
        for name in was.namelist():
            made.writestr(name, b"ten" if name == "a" else was.read(name))
    assert "'a' is not what it was" in refusal(changed)


def test_a_file_that_the_manifest_does_not_name_is_refused():
    assert "'extra' is in the file but not" in refusal(zipped(("extra", b"x")))


def test_a_file_that_is_missing_is_refused():
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as made:
        entries = {"gone": {"bytes": 1, "sha256": "0"}}
        told = json.dumps({"kind": KIND, "version": 1, "entries": entries})
        made.writestr(MANIFEST, told)
    assert "'gone' is missing" in refusal(file)


def test_a_name_that_is_in_it_twice_is_refused():
    with pytest.warns(UserWarning, match="Duplicate name"):
        file = zipped(("a", b"one"), ("a", b"two"))
    assert "'a' is in it twice" in refusal(file)


@pytest.mark.parametrize("version", [0, 2, 99, -1])
def test_a_format_this_site_does_not_know_is_refused(version):
    assert f"has format {version}" in refusal(packed({}, version=version))


def test_another_kind_of_package_is_refused():
    assert "by what its manifest.json says" in refusal(packed({}, kind="something else"))


@pytest.mark.parametrize(
    "manifest",
    [
        b"",
        b"[]",
        b"{",
        b"[" * 100_000,
        b"\xff\xfe",
        b'{"kind": "test package"}',
        b'{"kind": "test package", "version": "1", "entries": {}}',
        b'{"kind": "test package", "version": 1, "entries": []}',
        b'{"kind": "test package", "version": 1, "entries": {"a": 1}}',
    ],
)
def test_a_manifest_that_says_nothing_is_refused(manifest):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as made:
        made.writestr(MANIFEST, manifest)
    assert refusal(file)


def test_a_locked_file_is_refused():
    content = bytearray(packed({"a": b"one"}).getvalue())
    with zipfile.ZipFile(io.BytesIO(content)) as made:
        central = made.start_dir
    content[central + 8] |= 1
    assert "locked by a password" in refusal(io.BytesIO(content))


def test_bytes_damaged_on_the_way_are_refused():
    content = packed({"a": zlib.compress(bytes(range(256)) * 50, 0)}).getvalue()
    damaged = content[:200] + bytes(20) + content[220:]
    assert "'a'" in refusal(io.BytesIO(damaged))
