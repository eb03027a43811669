"""What other parts may listen to; a listener that refuses stops the whole act."""

from django.dispatch import Signal

# Sent inside the transaction that undid an entry, with ``entry``, ``reversal`` and ``by``.
entry_reversed = Signal()
