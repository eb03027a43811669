"""What other parts may listen to; a listener that refuses stops the whole act."""

from django.dispatch import Signal

# Sent inside the transaction that saves settings, with ``studio`` and the names ``changed``.
settings_changed = Signal()
