"""The server: where it listens, and what it says on its screen."""

from __future__ import annotations

import socket
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from stockyard.desk.door import Yardkeeper
from stockyard.errors import Refused
from stockyard.page.app import build
from stockyard.page.house import House, own_address, own_names
from stockyard.page.keys import keys_of
from stockyard.page.pairing import Pairing, written

LOOPBACK = "127.0.0.1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How the pages are to be served. `names` are further names under which browsers reach them."""

    network: bool = False
    port: int = 8020
    names: tuple[str, ...] = ()
    forget: bool = False
    planners: int = 1


def serve(yard: Path, wish: Wish, say: Callable[[str], None]) -> None:
    """Serve the pages of a yard until the person stops it.

    Raises:
        BadInput: there is no yard. Refused: the port is taken, or the key can not be kept.
    """
    Yardkeeper(yard).open().close()
    pairing = Pairing()
    house = House(
        yard=yard, keys=keys_of(yard, forget=wish.forget), pairing=pairing, network=wish.network,
        names=own_names(wish.names), planners=wish.planners,
    )  # fmt: skip
    with _listen(wish) as door:
        port = door.getsockname()[1]
        where = f"http://{own_address() if wish.network else LOOPBACK}:{port}/"
        say(f"The yard {yard} is at {where}")
        if wish.network:
            pairing.changed = lambda code: say(invitation(where, code))
            say(invitation(where, pairing.code))
        else:
            say("Only this computer reaches it; with --network the shop's own network does.")
        say("Ctrl-C stops it.")
        config = uvicorn.Config(
            build(house), log_level="warning", access_log=False, server_header=False, proxy_headers=False,
            ws="none", http="h11", loop="asyncio", lifespan="off", limit_concurrency=500,
            timeout_graceful_shutdown=1,
        )  # fmt: skip
        uvicorn.Server(config).run(sockets=[door])


def invitation(where: str, code: str) -> str:
    """Return what the screen shows for a new station: the code, and the same as a symbol to photograph."""
    import io

    import segno

    drawn = io.StringIO()
    segno.make(f"{where}pair?code={code}", micro=False).terminal(drawn, compact=True)
    return f"{drawn.getvalue()}A new station opens {where}pair with the code {written(code)} (good once)."


def _listen(wish: Wish) -> socket.socket:
    host = "0.0.0.0" if wish.network else LOOPBACK
    try:
        door = socket.create_server((host, wish.port), backlog=128)
    except OSError as error:
        raise Refused(f"cannot listen at port {wish.port}: {error.strerror or error}") from None
    # Accepted connections inherit it; asyncio sets it only where a socket names its protocol (40 ms a page).
    door.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, True)
    return door
