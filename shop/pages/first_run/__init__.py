"""The page that an empty shop opens with: its owner, and the first of its settings."""
