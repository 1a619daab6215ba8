"""The sums of the bench: plain Python, units in the names, frozen results, sources in docstrings."""
