"""Two models get the names that engineers know; their tables stay as they are."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("shop", "0010_customers_and_told")]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameModel("Stir", "ChangeCounter"),
                migrations.AlterModelTable("ChangeCounter", "shop_stir"),
                migrations.RenameModel("WorkedOut", "RefreshState"),
                migrations.AlterModelTable("RefreshState", "shop_workedout"),
            ]
        ),
    ]
