"""Rows that stand say which version of the rules made them, and what other shops read of theirs."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [('shop', '0015_come_back')]

    operations = [
        migrations.AddField("refreshstate", "rule", models.CharField(blank=True, max_length=64)),
        migrations.AddField("refreshstate", "lends", models.JSONField(default=list)),
    ]
