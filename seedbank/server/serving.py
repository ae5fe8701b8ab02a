"""A collection served over HTTP until the gardener stops it."""

import os
import signal
import socket
import sys
from threading import Timer
from types import FrameType

import uvicorn
from fastapi import FastAPI

from seedbank.access.tokens_and_trail import any_owner
from seedbank.cli.screen import aside, words
from seedbank.common.errors import Refused
from seedbank.server.app import asks_for_tokens, create_server
from seedbank.settings import Settings
from seedbank.upkeep.open_collection import holds_collection

_PATIENCE_S = 5  # for requests under way when it is stopped; then for backups, scheduled_backups
_AT_MOST_S = 9.0


class _Server(uvicorn.Server):
    """A server that is gone soon after it is told to stop, whoever is still sending or waiting.

    What is answered by then is committed; a write cut short is undone by the database.
    """

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Stop, gently at first."""
        if not self.should_exit:  # a long calculation can't be called off, and would be waited for
            last = Timer(_AT_MOST_S, os._exit, (128 + sig,))
            last.daemon = True
            last.start()
        super().handle_exit(sig, frame)


def serve(settings: Settings) -> None:
    """Serve until interrupted. Raises Refused: the port can't be had, or nobody could come in."""
    asks = asks_for_tokens(settings)
    with _listening(settings) as listening:  # nobody is answered before the server runs
        if asks and not holds_collection(settings.database_url):
            raise _nobody_could_come_in(settings)
        app = create_server(settings)
        if asks:
            _see_that_someone_may_come_in(app, settings)
        host, port = listening.getsockname()[:2]
        shown = f"[{host}]" if ":" in host else host
        aside(words("serving", address=f"http://{shown}:{port}"))
        # The server hands a signal on once it has closed; leaving by the door tidies up behind.
        signal.signal(signal.SIGTERM, _leave)
        config = uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=_PATIENCE_S)
        _Server(config).run(sockets=[listening])


def _see_that_someone_may_come_in(app: FastAPI, settings: Settings) -> None:
    with app.state.wiring.reading() as session:
        if not any_owner(session):
            raise _nobody_could_come_in(settings)


def _nobody_could_come_in(settings: Settings) -> Refused:
    return Refused("no-owner-token", "host", settings.host)


def _leave(number: int, _frame: FrameType | None) -> None:
    sys.exit(128 + number)


def _listening(settings: Settings) -> socket.socket:
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    try:
        return socket.create_server((settings.host, settings.port), family=family)
    except OSError as refused:
        if refused.errno is not None and refused.errno < 0:  # the name could not be resolved
            raise Refused("no-address-of-ours", "host", settings.host) from refused
        raise Refused("port-taken", "port", settings.port) from refused
