"""The Django project: settings, addresses, commands, health, metrics."""
