"""Manuals, schematics and data sheets: kept as they came, read and drawn in a process of their own."""
