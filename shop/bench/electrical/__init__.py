"""Stored energy, first power, bias, heat, parts and what may stand in for them, safety tests."""
