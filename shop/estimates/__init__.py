"""Estimates in versions, and what the customer agreed to."""
