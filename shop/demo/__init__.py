"""The demo shop: units, customers and a past, all invented."""
