from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("beats", "0010_version_of_the_watch")]
    operations = [
        migrations.AddField(
            model_name="user",
            name="sign_outs",
            field=models.PositiveIntegerField(
                db_default=0,
                default=0,
                help_text="How often they signed out everywhere; a session of before is none",
            ),
        ),
    ]
