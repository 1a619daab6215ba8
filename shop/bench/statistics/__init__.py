"""Intermittent faults, the order of tests, the flow of work and when it will be done."""
