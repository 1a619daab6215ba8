"""`python -m shop.site`: the command line, from wherever the package lies."""

from shop.site.command_line import main

if __name__ == "__main__":
    main()
