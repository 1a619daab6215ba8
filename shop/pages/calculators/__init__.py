"""Pages of the calculations, and of recordings."""
