"""The ground app: who and when."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class ShopConfig(AppConfig):
    name = "shop"
    verbose_name = "Shops and visits"

    def ready(self):
        from . import freezing

        pre_migrate.connect(freezing.thaw, sender=self)
        post_migrate.connect(freezing.freeze, sender=self)
