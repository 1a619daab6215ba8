"""What a shop decides about itself: its name, hours, rates, limits and signs, with their history.

A setting comes from the environment when it is set there, else from the page, else it has its
default. Settings of the machine (database, mail server, secrets) stay in the environment alone.
"""
