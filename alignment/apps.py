"""What the indicator says."""

from django.apps import AppConfig


class AlignmentConfig(AppConfig):
    name = "alignment"
    verbose_name = "Alignment"
