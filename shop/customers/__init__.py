"""Customers, how their units came, and the links they are given."""
