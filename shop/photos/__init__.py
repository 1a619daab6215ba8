"""Photos: decoded in a process of their own, kept in the database, shown."""
