"""Levels, distortion, and recordings taken apart: tone, noise, separation, response."""
