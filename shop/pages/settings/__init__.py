"""The page of the shop's settings."""
