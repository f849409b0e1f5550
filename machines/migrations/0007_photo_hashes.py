"""The SHA-256 of every photo: of new ones as they are stored, of those that are there by now."""

import hashlib

from django.db import migrations, models

PHOTOS = ("findingphoto", "incidentphoto", "toothphoto")


def hash_what_is_there(apps, schema_editor):
    """A file that is gone keeps none; `manage.py verify` says that it is gone."""
    for name in PHOTOS:
        for photo in apps.get_model("machines", name).objects.exclude(image="").iterator():
            storage = photo.image.storage
            if storage.exists(photo.image.name):
                with storage.open(photo.image.name) as file:
                    photo.sha256 = hashlib.file_digest(file, "sha256").hexdigest()
                photo.save(update_fields=["sha256"])


def hash_of(name):
    return migrations.AddField(
        model_name=name,
        name="sha256",
        field=models.CharField(
            blank=True, default="", editable=False, max_length=64, verbose_name="SHA-256"
        ),
    )


class Migration(migrations.Migration):
    dependencies = [("machines", "0006_corrections_indexed")]

    operations = [
        *map(hash_of, PHOTOS),
        migrations.RunPython(hash_what_is_there, migrations.RunPython.noop),
    ]
