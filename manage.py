#!/usr/bin/env python
"""The command line of Benchtag, in a checkout."""

from shop.site.command_line import main

if __name__ == "__main__":
    main()
