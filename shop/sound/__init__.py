"""Recordings of a job measured, the inputs that record them, and the test signals that are played."""
