"""Across jobs: who waits for what, orders and baskets, next up, forecasts, flow."""
