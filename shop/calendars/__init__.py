"""A calendar of the shop for other programs: soaks, promised days, parcels, calls."""
