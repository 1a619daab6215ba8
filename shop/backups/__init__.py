"""Backups: written while the shop works, proved by a restore, copied elsewhere, and told of."""
