#!/usr/bin/env python
"""Sweepbook's command line; `python manage.py help` lists the commands."""

import os
import sys

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    if sys.argv[1:2] == ["begin"]:
        # Its folder, address and hosts have to be known before the settings are read.
        from shop.begin.serving import prepare

        prepare(sys.argv[2:])
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)
