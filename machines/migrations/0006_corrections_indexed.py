from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('machines', '0005_due_times'),
    ]

    operations = [
        migrations.AddIndex(
            model_name='bearinginspection',
            index=models.Index(condition=models.Q(('corrects__isnull', False)), fields=['corrects'], name='looks_at_bearings_corrected'),
        ),
        migrations.AddIndex(
            model_name='beltinspection',
            index=models.Index(condition=models.Q(('corrects__isnull', False)), fields=['corrects'], name='looks_at_belts_corrected'),
        ),
    ]
