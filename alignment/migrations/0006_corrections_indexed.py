from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('alignment', '0005_machine_risks'),
    ]

    operations = [
        migrations.AddIndex(
            model_name='check',
            index=models.Index(condition=models.Q(('corrects__isnull', False)), fields=['corrects'], name='checks_corrected'),
        ),
    ]
