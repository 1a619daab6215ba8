"""Instruments of the bench: accuracy, calibration, and which one somebody used last."""
