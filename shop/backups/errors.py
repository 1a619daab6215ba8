"""What a backup or restore says when it is not made."""


class BackupError(Exception):
    """A backup or restore that was not made; the message is a sentence."""
