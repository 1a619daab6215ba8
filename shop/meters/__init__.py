"""Readings that connected instruments give to a job, and which job an instrument is at."""
