"""How a phone is told to trust the certificate of this machine."""
