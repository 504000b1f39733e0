"""Serve a desk on this machine alone until it is stopped."""

import contextlib
import socket
from types import FrameType

import uvicorn

from simulator.errors import RoomsoakError
from simulator.workspace.desk import Desk
from simulator.workspace.server import application

HOST = "127.0.0.1"


class PortTaken(RoomsoakError):
    """The port is in use."""

    exit_code = 2


def open_socket(port: int) -> socket.socket:
    """Return a socket that listens on this machine; port 0 takes any free one."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOST, port))
        listening.listen()  # a browser that is quicker than the server waits
    except OSError as error:
        listening.close()
        raise PortTaken(f"port {port} cannot be used ({error.strerror}); try --port 0") from error
    return listening


class _Server(uvicorn.Server):
    """Ends the streams of events before it waits for what is still being answered."""

    def __init__(self, config: uvicorn.Config, desk: Desk) -> None:
        super().__init__(config)
        self._desk = desk

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take a signal that ends the process."""
        self._desk.end()
        super().handle_exit(sig, frame)


def serve(desk: Desk, listening: socket.socket) -> None:
    """Answer requests until Ctrl-C, which loses nothing, or another signal ends the process."""
    config = uvicorn.Config(
        application(desk),
        log_level="warning",
        access_log=False,
        server_header=False,
        ws="none",
        timeout_graceful_shutdown=2,
    )
    with contextlib.suppress(KeyboardInterrupt):
        _Server(config, desk).run(sockets=[listening])
