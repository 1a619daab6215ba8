"""Pictures: decoding in a process of its own, keeping, showing."""
