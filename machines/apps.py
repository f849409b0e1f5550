"""What stands on the floor and what happened to it."""

from django.apps import AppConfig


class MachinesConfig(AppConfig):
    name = "machines"
    verbose_name = "Machines"
