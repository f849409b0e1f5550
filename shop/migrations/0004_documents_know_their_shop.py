"""Documents issued before they named a shop and a firm take those of their visit."""

from django.db import migrations


def take_from_visit(apps, schema_editor):
    Document = apps.get_model("shop", "Document")
    for document in Document.objects.filter(shop=None).select_related("visit"):
        document.shop_id, document.firm_id = document.visit.shop_id, document.visit.firm_id
        document.save(update_fields=["shop", "firm"])


class Migration(migrations.Migration):
    dependencies = [("shop", "0003_money_and_documents")]
    operations = [migrations.RunPython(take_from_visit, migrations.RunPython.noop)]
