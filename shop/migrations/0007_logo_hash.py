"""The SHA-256 of every logo: of new ones as they are stored, of those that are there by now."""

import hashlib

from django.db import migrations, models


def hash_what_is_there(apps, schema_editor):
    """A file that is gone keeps none; `manage.py verify` says that it is gone."""
    for firm in apps.get_model("shop", "Firm").objects.exclude(logo="").iterator():
        storage = firm.logo.storage
        if storage.exists(firm.logo.name):
            with storage.open(firm.logo.name) as file:
                firm.logo_sha256 = hashlib.file_digest(file, "sha256").hexdigest()
            firm.save(update_fields=["logo_sha256"])


class Migration(migrations.Migration):
    dependencies = [("shop", "0006_standing")]

    operations = [
        migrations.AddField(
            model_name="firm",
            name="logo_sha256",
            field=models.CharField(
                blank=True, default="", editable=False, max_length=64, verbose_name="SHA-256"
            ),
        ),
        migrations.RunPython(hash_what_is_there, migrations.RunPython.noop),
    ]
