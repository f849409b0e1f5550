"""What stands on the floor and what happened to it."""

from django.apps import AppConfig


class MachinesConfig(AppConfig):
    name = "machines"
    # Each of its tables declares what becomes of its rows: see `shop.record`.
    keeps_records = True
    verbose_name = "Machines"
