"""All pages as one application."""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp

from stockyard.page import look
from stockyard.page.doors import Read, Write, plain_page, route
from stockyard.page.guard import Guard, TooLarge
from stockyard.page.house import House
from stockyard.page.rooms import books, counts, jobs, lists, now, pair, pieces, plan, pull, racks, saw, undo

_SAYS = {
    403: "This form is not from a page of this station, or the page is older than the server's keys. "
    "Open the page anew and send it again.",
    404: "There is no such page.",
    405: "A page is only asked for here, or only written to.",
}


def doors() -> tuple[Read | Write, ...]:
    """Return every door of every room."""
    rooms = (now, undo, pair, lists, jobs, plan, pull, saw, racks, pieces, counts, books)
    return tuple(door for room in rooms for door in room.DOORS)


def build(house: House) -> ASGIApp:
    """Return the application of one server, guard and all."""

    async def stopped(request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 500
        says = _SAYS.get(status, "That could not be read: nothing was done.")
        values = {"says": says, "next": None, "back": "/"}
        return plain_page(house, request, "hurdle.html", values, status)

    async def too_large(request: Request, error: Exception) -> Response:  # noqa: ARG001
        values = {"says": "That is too much to send: nothing was done.", "next": None, "back": "/"}
        return plain_page(house, request, "hurdle.html", values, 413)

    async def failed(request: Request, error: Exception) -> Response:  # noqa: ARG001
        values = {
            "says": "A fault of the program: nothing of this was done. Its words are on the server's screen.",
            "next": None, "back": "/",
        }  # fmt: skip
        return plain_page(house, request, "hurdle.html", values, 500)

    async def stream(request: Request) -> Response:  # noqa: ARG001
        return StreamingResponse(house.watch.follow(), media_type="text/event-stream")

    routes = [route(house, door) for door in doors()]
    routes += [Route("/stream", stream, methods=["GET"])]
    routes += [Route(f"/look/{name}", _look(name), methods=["GET"]) for name in look.KINDS]
    app = Starlette(
        routes=routes, exception_handlers={HTTPException: stopped, TooLarge: too_large, Exception: failed}
    )
    return Guard(app, house)


def _look(name: str):  # type: ignore[no-untyped-def]
    async def endpoint(request: Request) -> Response:  # noqa: ARG001
        return Response(look.looks()[name], media_type=look.KINDS[name])

    return endpoint
