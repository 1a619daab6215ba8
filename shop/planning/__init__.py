"""Across jobs: who waits for what, orders and baskets, next actions, forecasts, flow."""
