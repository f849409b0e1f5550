"""The ground app: who and when."""

from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate, pre_migrate


class ShopConfig(AppConfig):
    name = "shop"
    verbose_name = "Shops and visits"

    def ready(self):
        from . import freezing
        from .signing_in.sessions import on_sign_in
        from .standing import triggers as standing
        from .trail import install as trail

        user_logged_in.connect(on_sign_in)
        connection_created.connect(trail.teach)
        pre_migrate.connect(freezing.thaw, sender=self)
        pre_migrate.connect(trail.take_off, sender=self)
        pre_migrate.connect(standing.take_off, sender=self)
        post_migrate.connect(freezing.freeze, sender=self)
        post_migrate.connect(trail.put_on, sender=self)
        post_migrate.connect(standing.put_on, sender=self)
