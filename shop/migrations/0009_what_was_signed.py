from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0008_tallies")]

    operations = [
        migrations.AddField(
            model_name="signedrecord",
            name="said",
            field=models.TextField(
                blank=True, default="", help_text="The fields that the digest is of, as JSON."
            ),
        ),
        migrations.AddField(
            model_name="signedrecord",
            name="numbers",
            field=models.JSONField(
                blank=True,
                default=dict,
                help_text="By table, the numbers that rows were signed under and have here.",
            ),
        ),
    ]
