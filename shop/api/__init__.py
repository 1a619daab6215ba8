"""JSON under /api/v1/: one thin module per resource."""
