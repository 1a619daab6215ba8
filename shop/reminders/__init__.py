"""What is due, late or stalled; the worker that keeps looking."""
