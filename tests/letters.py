"""A mail server on the loopback for tests: it keeps what it takes."""

import socket
from contextlib import contextmanager
from email import message_from_bytes, policy

from aiosmtpd.controller import Controller


class _Box:
    def __init__(self, says):
        self.says, self.mails = says, []

    async def handle_RCPT(self, server, session, envelope, address, options):
        if address in self.says:
            return self.says[address]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        self.mails.append(message_from_bytes(envelope.content, policy=policy.default))
        return "250 Taken"


def free_port():
    """Return a port of the loopback that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def mail_server(says=()):
    """Yield (port, list of the mails taken) of a server that answers while the block runs.

    ``says`` is {address: what the server says to it} of those it does not take.
    """
    box = _Box(dict(says))
    controller = Controller(box, hostname="127.0.0.1", port=free_port())
    controller.start()
    try:
        yield controller.port, box.mails
    finally:
        controller.stop()
