"""Static files: hashed and compressed on a server, under their plain names before that."""

from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.core.files.base import ContentFile
from django.core.files.storage import storages

from shop.web.staticfiles import HashedOnceCollected

STYLES = "shop/sweepbook.css"


@pytest.fixture
def folder(settings, tmp_path):
    settings.STATIC_ROOT = tmp_path
    return tmp_path


def test_the_site_uses_this_storage():
    assert isinstance(storages["staticfiles"], HashedOnceCollected)


def test_before_they_are_collected_files_go_by_their_plain_names(folder):
    assert HashedOnceCollected().url(STYLES) == f"/static/{STYLES}"


def test_collected_files_are_named_by_what_is_in_them_and_compressed(folder):
    storage = HashedOnceCollected()
    storage.save(STYLES, ContentFile(Path(finders.find(STYLES)).read_bytes()))
    list(storage.post_process({STYLES: (storage, STYLES)}))
    name = HashedOnceCollected().url(STYLES).removeprefix("/static/")
    assert name != STYLES
    assert (folder / name).read_bytes() == (folder / STYLES).read_bytes()
    assert (folder / f"{name}.gz").exists()
