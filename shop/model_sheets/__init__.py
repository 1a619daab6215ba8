"""Service data of a model, each figure with its source."""
