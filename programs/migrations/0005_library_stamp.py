import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('practice', '0001_initial'),
        ('programs', '0004_working_copies'),
    ]

    operations = [
        migrations.CreateModel(
            name='LibraryStamp',
            fields=[
                ('practice', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='+', serialize=False, to='practice.practice')),
                ('stamp', models.BigIntegerField()),
            ],
            options={
                'default_permissions': (),
            },
        ),
    ]
