"""What other parts may listen to; a listener that refuses stops the whole act."""

from django.dispatch import Signal

# Sent inside the transaction that undid an entry, with ``entry``, ``reversal`` and ``by``.
entry_reversed = Signal()

# Sent with ``studio`` before stock is touched on or after the day of a change of costing method.
costing_due = Signal()
