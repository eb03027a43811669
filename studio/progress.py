"""How far something long has come, told by whatever does it to whoever waits for it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

Listener = Callable[[int, int], None]

_listener: ContextVar[Listener | None] = ContextVar("listener", default=None)


def tell(done: int, of: int) -> None:
    """Say that so many of so many are done. Call it outside transactions; often is no harm."""
    listener = _listener.get()
    if listener is not None:
        listener(done, of)


@contextmanager
def told_to(listener: Listener) -> Iterator[None]:
    """Let a function hear of it at each whole percent."""
    heard = -1

    def seldom(done: int, of: int) -> None:
        nonlocal heard
        percent = 100 * done // max(of, 1)
        if percent != heard:
            heard = percent
            listener(done, of)

    token = _listener.set(seldom)
    try:
        yield
    finally:
        _listener.reset(token)
