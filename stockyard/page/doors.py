"""Requests to rooms and back: the yard opened, the form read, its token looked at, the answer written."""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from stockyard.desk import history
from stockyard.desk.door import Yard
from stockyard.desk.history import DeedLine
from stockyard.errors import BadInput, Refused, StockyardError
from stockyard.page import hurdles, look
from stockyard.page.guard import LIST, cookie_header
from stockyard.page.house import House
from stockyard.page.keys import Station
from stockyard.page.visit import Answer, File, Go, Page, Visit
from stockyard.page.watch import identity

Room = Callable[[Visit], Answer]
# Most fields of a form: a page of Saw or Settings has far fewer.
_MOST_FIELDS = 500
# Deeds looked through for the one this station has just done.
_RECENT = 30


@dataclass(frozen=True, slots=True)
class Read:
    """A page that is asked for. It changes nothing."""

    path: str
    room: Room


@dataclass(frozen=True, slots=True)
class Write:
    """A form that is sent."""

    path: str
    room: Room


def route(house: House, door: Read | Write) -> Route:
    """Return the route of a door."""
    if isinstance(door, Read):
        return Route(door.path, _reading(house, door.room), methods=["GET"])
    return Route(door.path, _writing(house, door), methods=["POST"])


Endpoint = Callable[[Request], Awaitable[Response]]


def _reading(house: House, room: Room) -> Endpoint:
    def answer(request: Request) -> Response:
        station: Station = request.scope["station"]
        query = {k: v[:4000] for k, v in request.query_params.items()}
        words = {k: tuple(request.query_params.getlist(k)) for k in query}
        with house.keeper(station).open() as yard, yard.reading():
            visit = Visit(
                house=house, yard=yard, station=station, path=_path(request), query=query, words=words,
                state=(_last_deed(yard), identity(house.yard), yard.clock()[:10]),
            )  # fmt: skip
            return _written(visit, room(visit), request)

    async def endpoint(request: Request) -> Response:
        return await _guarded(house, request, answer)

    return endpoint


def _writing(house: House, door: Write) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        station: Station = request.scope["station"]
        async with request.form(max_files=1, max_fields=_MOST_FIELDS, max_part_size=LIST) as form:
            fields, lists, files = await _form(form)
        if not house.keys.is_token(station, fields.get("token", "")):
            raise HTTPException(403)

        def answer(request: Request) -> Response:
            mark = f"{station.id} {fields.get('once', '')}"
            led = house.once.seen(mark) if fields.get("once") else None
            if led is not None:
                return RedirectResponse(led, 303)
            with house.keeper(station).open() as yard:
                visit = Visit(
                    house=house, yard=yard, station=station, path=_path(request), form=fields, lists=lists,
                    files=files,
                )  # fmt: skip
                done = _written(visit, door.room(visit), request)
            if done.status_code == 303:
                house.once.note(mark, done.headers["location"])
            return done

        return await _guarded(house, request, answer)

    return endpoint


async def _guarded(house: House, request: Request, answer: Callable[[Request], Response]) -> Response:
    """Answer in a thread; a fault becomes a page that says what was wrong and what to do."""
    try:
        return await run_in_threadpool(answer, request)
    except StockyardError as error:
        return await run_in_threadpool(refusal, house, request, error)


def refusal(house: House, request: Request, error: StockyardError) -> Response:
    """Return the page about an error of the desk."""
    status = 409 if isinstance(error, Refused) else 400 if isinstance(error, BadInput) else 500
    return plain_page(house, request, "hurdle.html", hurdles.told(error, _back(request)), status)


def plain_page(
    house: House, request: Request, template: str, values: Mapping[str, object], status: int
) -> Response:
    """Return a page that needs no yard, which may be what is wrong."""
    station: Station = request.scope["station"]
    common = _common(house, station, request) | {"deed": 0}
    return HTMLResponse(look.written(template, common | dict(values)), status)


def _back(request: Request) -> str:
    """Return the page that a person came from, when it is one of ours."""
    try:
        came = urlsplit(request.headers.get("referer", ""))
    except ValueError:
        return "/"
    own = came.netloc == request.headers.get("host", "") and came.path.startswith("/")
    if not own or came.path.startswith("//"):
        return "/"
    return came.path + (f"?{came.query}" if came.query else "")


def _path(request: Request) -> dict[str, str]:
    return {k: str(v) for k, v in request.path_params.items()}


async def _form(
    form: FormData,
) -> tuple[dict[str, str], dict[str, tuple[str, ...]], dict[str, tuple[str, bytes]]]:
    fields: dict[str, str] = {}
    files: dict[str, tuple[str, bytes]] = {}
    lists: dict[str, tuple[str, ...]] = {}
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            content = await value.read()
            if content or value.filename:  # a field that was left alone has neither
                files[name] = ((value.filename or "")[:200], content)
        else:
            fields[name] = value
            lists[name] = (*lists.get(name, ()), value)
    return fields, lists, files


def _written(visit: Visit, answer: Answer, request: Request) -> Response:
    """Return a room's answer as it goes to the browser."""
    if isinstance(answer, Go):
        response: Response = RedirectResponse(_told(visit, answer), 303)
        if answer.cookie is not None:
            response.headers["set-cookie"] = cookie_header(visit.house.keys.cookie(answer.cookie))
        return response
    if isinstance(answer, File):
        shown = f"inline; filename*=UTF-8''{quote(answer.name, safe='')}"
        return Response(answer.data, media_type=answer.kind, headers={"content-disposition": shown})
    return HTMLResponse(look.written(answer.template, _context(visit, answer, request)), answer.status)


def _told(visit: Visit, go: Go) -> str:
    """Return where to go, with the number of the deed that this station has just done."""
    if not go.told:
        return go.to
    mine = [d for d in history.deeds(visit.yard, limit=_RECENT) if d.station == visit.yard.station]
    if not mine:
        return go.to
    path, hash, anchor = go.to.partition("#")
    return f"{path}{'&' if '?' in path else '?'}told={mine[0].id}{hash}{anchor}"


def _common(house: House, station: Station, request: Request) -> dict[str, Any]:
    return {
        "station": station,
        "token": house.keys.token(station),
        "once": secrets.token_urlsafe(9),
        "here": request.url.path,
        "entered": house.may_enter(station),
    }


def _context(visit: Visit, page: Page, request: Request) -> dict[str, Any]:
    settings = visit.yard.settings
    told = _deed_told(visit)
    return {
        **_common(visit.house, visit.station, request),
        "w": look.Words(settings.unit, settings.currency, settings.fence),
        "deed": _last_deed(visit.yard),
        "told": told,
        "told_can": told is not None and told.id in history.undoable(visit.yard, (told,)),
        "came": _came(request),
        **page.values,
    }


def _came(request: Request) -> str:
    """Return the address of this page without what was told on it."""
    words = [w for w in request.url.query.split("&") if w and not w.startswith("told=")]
    return request.url.path + (f"?{'&'.join(words)}" if words else "")


def _last_deed(yard: Yard) -> int:
    newest = history.deeds(yard, limit=1)
    return newest[0].id if newest else 0


def _deed_told(visit: Visit) -> DeedLine | None:
    text = visit.asked("told")
    if not (text.isascii() and text.isdecimal()) or len(text) > 15:
        return None
    try:
        return history.to_undo(visit.yard, int(text))
    except StockyardError:
        return None
