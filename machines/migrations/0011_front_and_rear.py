"""Where the headstock stands, and which way an axis moves things, told as front, rear, up, down.

Until now plus was told as right or left in some indicator's view. Here it is taken as seen from a
headstock at the operator's left; `alignment` puts right what moves a station that is looked at the
other way.
"""

from django.db import migrations, models

AS_FRONT = {"right": "front", "left": "rear", "up": "up", "down": "down"}


def tell_from_the_front(apps, schema_editor):
    """The nearest word for each; along the spindle says no direction, so none is made up."""
    for axis in apps.get_model("machines", "Axis").objects.exclude(view="none"):
        axis.plus = AS_FRONT.get(axis.view, "none")
        axis.save(update_fields=["plus"])


class Migration(migrations.Migration):
    dependencies = [
        ('machines', '0010_register'),
    ]

    operations = [
        migrations.AddField(
            model_name="machine",
            name="headstock_side",
            field=models.CharField(
                choices=[("left", "on the left"), ("right", "on the right")],
                default="left",
                help_text="Of the operator, who stands at the front and faces the machine.",
                max_length=5,
                verbose_name="the headstock stands",
            ),
        ),
        migrations.AddField(
            model_name="axis",
            name="plus",
            field=models.CharField(
                choices=[
                    ("front", "to the front"),
                    ("rear", "to the rear"),
                    ("up", "up"),
                    ("down", "down"),
                    ("towards", "towards the headstock"),
                    ("away", "away from the headstock"),
                    ("none", "not said"),
                ],
                default="none",
                help_text="Front is the operator's side. Of an axis that is not level, the nearer "
                "of both.",
                max_length=7,
                verbose_name="plus moves it",
            ),
        ),
        migrations.AlterField(
            model_name="axis",
            name="moves",
            field=models.CharField(
                blank=True,
                help_text="Which stations it moves is said at each station.",
                max_length=80,
                verbose_name="what it moves, in words",
            ),
        ),
        migrations.RunPython(tell_from_the_front, migrations.RunPython.noop),
        migrations.RemoveField(model_name="axis", name="view"),
    ]
