"""The ground app: who and when."""

from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in
from django.db.models.signals import post_migrate, pre_migrate


class ShopConfig(AppConfig):
    name = "shop"
    verbose_name = "Shops and visits"

    def ready(self):
        from . import freezing
        from .signing_in.sessions import on_sign_in

        user_logged_in.connect(on_sign_in)
        pre_migrate.connect(freezing.thaw, sender=self)
        post_migrate.connect(freezing.freeze, sender=self)
