from django.db import migrations, models


def work_out_anew(apps, schema_editor):
    """The rows are worked out, and say it in words from now on."""
    apps.get_model("alignment", "MachineRisk").objects.all().delete()
    apps.get_model("shop", "WorkedOut").objects.filter(what="risk").delete()


class Migration(migrations.Migration):

    # The table has another name from there on.
    run_before = [("shop", "0011_names_of_counters")]
    dependencies = [
        ('alignment', '0008_form_and_rule'),
        ("shop", "0009_what_was_signed"),
    ]

    operations = [
        migrations.RunPython(work_out_anew, migrations.RunPython.noop),
        migrations.RemoveField(model_name="machinerisk", name="knocked"),
        migrations.AddField(
            model_name="machinerisk",
            name="words",
            field=models.CharField(blank=True, default="", max_length=300),
            preserve_default=False,
        ),
    ]
