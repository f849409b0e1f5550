"""What the indicator says."""

from django.apps import AppConfig


class AlignmentConfig(AppConfig):
    name = "alignment"
    # Each of its tables declares what becomes of its rows: see `shop.record`.
    keeps_records = True
    verbose_name = "Alignment"
