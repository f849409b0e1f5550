"""The ground app: who and when."""

from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in, user_login_failed
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate, pre_migrate


class ShopConfig(AppConfig):
    name = "shop"
    # Each of its tables declares what becomes of its rows: see `shop.record`.
    keeps_records = True
    verbose_name = "Shops and visits"

    def ready(self):
        from .audit.install import register_sql_functions
        from .people.signing_in.guessing import count_wrong
        from .people.signing_in.sessions import on_sign_in
        from .records import checks  # noqa: F401 - registers itself with Django's checks
        from .records.triggers.migrating import guard_migrations, unguard_migrations
        from .records.triggers.syncing import create_triggers
        from .web import checks as settings_checks  # noqa: F401 - the same

        user_logged_in.connect(on_sign_in)
        user_login_failed.connect(count_wrong)
        connection_created.connect(register_sql_functions)
        pre_migrate.connect(guard_migrations, sender=self)
        post_migrate.connect(unguard_migrations, sender=self)
        post_migrate.connect(create_triggers, sender=self)
