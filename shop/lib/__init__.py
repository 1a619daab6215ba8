"""Plain helpers that know nothing of the shop."""
