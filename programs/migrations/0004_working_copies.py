import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('practice', '0001_initial'),
        ('programs', '0003_photo_changed_at'),
    ]

    operations = [
        migrations.AlterModelOptions(
            name='outlineday',
            options={'ordering': ['position', 'pk']},
        ),
        migrations.AlterModelOptions(
            name='outlineline',
            options={'ordering': ['-at_start', 'position', 'pk']},
        ),
        migrations.AlterModelOptions(
            name='outlineslot',
            options={'ordering': ['position', 'pk']},
        ),
        migrations.AlterModelOptions(
            name='slotcandidate',
            options={'ordering': ['occurrence', 'rank', 'pk']},
        ),
        migrations.RemoveConstraint(
            model_name='outlineday',
            name='outline_day_position_once',
        ),
        migrations.AddField(
            model_name='outline',
            name='draft_of',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='working_copy', to='programs.outline'),
        ),
        migrations.AddField(
            model_name='outline',
            name='in_work',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='outline',
            name='revision',
            field=models.PositiveIntegerField(default=1),
        ),
        migrations.AddConstraint(
            model_name='outline',
            constraint=models.CheckConstraint(condition=models.Q(('draft_of__isnull', True), ('in_work', True), _connector='OR'), name='outline_draft_in_work'),
        ),
    ]
