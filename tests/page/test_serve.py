"""The socket the pages are served from."""

from __future__ import annotations

import socket

from stockyard.page import serve


def test_what_is_accepted_does_not_wait_for_acknowledgements() -> None:
    with serve._listen(serve.Wish(port=0)) as door, socket.create_connection(door.getsockname()):
        accepted, _ = door.accept()
        with accepted:
            assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
