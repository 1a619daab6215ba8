#!/usr/bin/env python
"""The command line of Benchtag."""

import os
import sys

from shop.site import command_line


def main() -> None:
    """Run one command; `--data DIR` must be known before settings are read."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")
    command_line.run(sys.argv)


if __name__ == "__main__":
    main()
