"""The Django project: settings, addresses, commands, backups, health, metrics."""
