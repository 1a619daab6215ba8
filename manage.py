#!/usr/bin/env python
"""The command line of Benchtag."""

import os
import sys

from django.core.management import execute_from_command_line

from shop.site import env


def main() -> None:
    """Run one command; `--data DIR` of quickstart must be known before settings are read."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")
    env.take_data_folder(sys.argv)
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
