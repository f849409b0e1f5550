from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ('alignment', '0012_told_of_the_station'),
    ]

    operations = [
        # What is measured from now on is told of the station.
        migrations.AlterField(
            model_name="check",
            name="view",
            field=models.CharField(
                choices=[
                    ("dial", "of the swept surface, in the dial's view"),
                    ("frame", "of the station, in the machine's frame"),
                ],
                default="frame",
                editable=False,
                help_text="What the signs of the figure held against the limits, and of these, "
                "are.",
                max_length=5,
            ),
        ),
        migrations.AddConstraint(
            model_name='acceptanceitem',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__in', ['front', 'up', 'tilt front', 'tilt up']), models.Q(('lower_um__isnull', True), ('upper_um__isnull', True)), models.Q(('lower_um__isnull', True), ('upper_um__gt', 0), ('upper_um__isnull', False)), _connector='OR'), name='sizes_have_a_positive_upper_limit_only', violation_error_message='The tolerance of an offset, a TIR or a tilt must be above zero.'),
        ),
        migrations.AddConstraint(
            model_name='acceptanceitem',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('surface__in', ['bore', 'boss']), models.Q(('quantity__in', ['bow front', 'bow up', 'out far', 'out near']), _negated=True)), models.Q(('quantity__in', ['tilt', 'tilt front', 'tilt up']), ('surface__in', ['face', 'bar'])), models.Q(('quantity__in', ['bow front', 'bow up', 'out far', 'out near']), ('surface', 'bar')), models.Q(('quantity__in', ['front', 'up']), ('surface', 'flat')), _connector='OR'), name='each_surface_gives_figures_of_its_own', violation_error_message='A face and a travel along a bar give a tilt, the latter run-out and straightness too; a flat gives an offset to the front or upwards.'),
        ),
    ]
