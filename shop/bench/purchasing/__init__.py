"""What to order where, and how long it takes to come."""
