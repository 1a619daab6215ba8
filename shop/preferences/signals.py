"""What is said when settings change."""

from django.dispatch import Signal

# Sent inside the transaction with `names` and `at`: what hangs on a setting follows, or nothing is kept.
settings_changed = Signal()
