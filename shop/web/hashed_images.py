"""Pictures whose SHA-256 is on record, so that a file swapped or damaged on the disk shows."""

import hashlib

from django.db import models
from django.db.models.fields.files import ImageFieldFile


def sha256_field():
    """The column for a picture's SHA-256; it stands after the picture it is of."""
    return models.CharField("SHA-256", max_length=64, blank=True, default="", editable=False)


class HashedImageFile(ImageFieldFile):
    """A picture that puts its SHA-256 on record as it is stored."""

    def save(self, name, content, save=True):
        digest = hashlib.sha256()
        for chunk in content.chunks():
            digest.update(chunk)
        setattr(self.instance, self.field.sha256_field, digest.hexdigest())
        super().save(name, content, save)


class HashedImageField(models.ImageField):
    """A picture; `sha256_field` names the column that keeps its SHA-256."""

    attr_class = HashedImageFile

    def __init__(self, *args, sha256_field="sha256", **kwargs):
        self.sha256_field = sha256_field
        super().__init__(*args, **kwargs)

    def save_form_data(self, instance, data):
        super().save_form_data(instance, data)
        if data is not None and not data:
            setattr(instance, self.sha256_field, "")

    def deconstruct(self):
        """For migrations it is a picture like any other."""
        name, _path, args, kwargs = super().deconstruct()
        return name, "django.db.models.ImageField", args, kwargs


def sha256_name(field):
    """The column that keeps the SHA-256 of the files of a field."""
    return getattr(field, "sha256_field", "sha256")
