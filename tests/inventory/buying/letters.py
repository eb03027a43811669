"""A mail server on the loopback for tests: it keeps what it takes, or takes nothing."""

import socket
from contextlib import contextmanager
from email import message_from_bytes, policy

from aiosmtpd.controller import Controller


class _Box:
    def __init__(self, refuses):
        self.refuses, self.mails = refuses, []

    async def handle_DATA(self, server, session, envelope):
        if self.refuses:
            return "451 Try again later"
        self.mails.append(message_from_bytes(envelope.content, policy=policy.default))
        return "250 Taken"


def free_port():
    """Return a port of the loopback that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def mail_server(refuses=False):
    """Yield (port, list of the mails taken) of a server that answers while the block runs."""
    box = _Box(refuses)
    controller = Controller(box, hostname="127.0.0.1", port=free_port())
    controller.start()
    try:
        yield controller.port, box.mails
    finally:
        controller.stop()
