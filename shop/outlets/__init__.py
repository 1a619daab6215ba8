"""Outlets on the network: what they measure, and the enable that one is held by while a permit stands."""
