"""How far something long has come, told by whatever does it to whoever waits for it."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

Listener = Callable[[int, int], None]
SELDOM = 1.0  # [s]

_listener: ContextVar[Listener | None] = ContextVar("listener", default=None)


def tell(done: int, of: int) -> None:
    """Say that so many of so many are done. Call it outside transactions; often is no harm."""
    listener = _listener.get()
    if listener is not None:
        listener(done, of)


@contextmanager
def told_to(listener: Listener) -> Iterator[None]:
    """Let a function hear of it, once a second at most."""
    heard_at = 0.0

    def seldom(done: int, of: int) -> None:
        nonlocal heard_at
        if time.monotonic() - heard_at >= SELDOM:
            heard_at = time.monotonic()
            listener(done, of)

    token = _listener.set(seldom)
    try:
        yield
    finally:
        _listener.reset(token)
