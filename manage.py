#!/usr/bin/env python
"""Django's command line for Pourwright."""

import os
import sys


def main():
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:  # a setting that cannot be read; it says which
        sys.exit(str(error))


if __name__ == "__main__":
    main()
