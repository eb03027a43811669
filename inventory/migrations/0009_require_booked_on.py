from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("inventory", "0008_fill_booked_on"),
    ]

    operations = [
        migrations.AlterField(
            model_name="entry",
            name="booked_on",
            field=models.DateField(help_text="The day that it counts on in the books."),
        ),
    ]
