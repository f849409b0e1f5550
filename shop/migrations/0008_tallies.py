from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0007_logo_hash")]

    operations = [
        migrations.CreateModel(
            name="Tally",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("what", models.CharField(max_length=64, unique=True)),
                ("since", models.DateTimeField(db_index=True)),
                ("count", models.PositiveIntegerField(default=0)),
            ],
            options={"verbose_name_plural": "tallies"},
        ),
    ]
