"""Who may come in at all: looked at before any page is chosen."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from http.cookies import CookieError, SimpleCookie
from urllib.parse import quote, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from stockyard.page.house import House
from stockyard.page.keys import COOKIE, DAYS, Station, new_station

METHODS = frozenset({"GET", "HEAD", "POST"})
# Bytes a request may carry; a photograph and a list are larger than a form.
FORM, LIST, PHOTO = 64 * 1024, 2 * 1024 * 1024, 16 * 1024 * 1024
LARGE = ((re.compile(r"/lists/\w+"), LIST), (re.compile(r"/jobs/\d+/tick"), PHOTO))
OPEN = frozenset({"/pair"})
LOOKS = "/look/"
HEADERS: Mapping[str, str] = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-frame-options": "DENY",
    "x-content-type-options": "nosniff",
    # A form sent under "no-referrer" would name no origin, which is how ours are told from others.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=()",
    "cache-control": "no-store",
}
_LONGEST_PATH = 2000


class TooLarge(Exception):
    """A request carries more than its page takes."""


class Guard:
    """The outermost layer: host, origin, size, cookie, and the headers of every answer."""

    def __init__(self, app: ASGIApp, house: House) -> None:
        self.app = app
        self.house = house

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through to the pages, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await refusal(scope, receive, _with_headers(send, None))
            return
        station, cookie = self._station(headers)
        scope["station"] = station
        closed = self._closed(scope, station)
        if closed is not None:
            await closed(scope, receive, _with_headers(send, cookie))
            return
        await self.app(scope, _counted(receive, most_of(scope["path"])), _with_headers(send, cookie))

    def _refusal(self, scope: Scope, headers: Headers) -> Response | None:
        if scope["method"] not in METHODS:
            return PlainTextResponse("A page is only asked for or written to.", 405)
        hosts = headers.getlist("host")
        if len(hosts) != 1 or not self._is_own(hosts[0], scope):
            return PlainTextResponse("This is not the name of this shop's pages.", 421)
        path = scope["path"]
        if len(path) > _LONGEST_PATH or any(ord(c) < 32 or c == "\\" for c in path) or ".." in path:
            return PlainTextResponse("There is no such page.", 400)
        if scope["method"] == "POST" and not _is_same_origin(headers, hosts[0]):
            return PlainTextResponse("This came from another site: nothing was done.", 403)
        length = headers.get("content-length", "0")
        if not length.isdecimal() or len(length) > 12 or int(length) > most_of(path):
            return PlainTextResponse("That is too much to send.", 413)
        return None

    def _is_own(self, host: str, scope: Scope) -> bool:
        """Whether a Host header names this machine: a name of another site that points here does not."""
        try:
            name = (urlsplit(f"//{host}").hostname or "").rstrip(".")
            urlsplit(f"//{host}").port  # noqa: B018  raises where it is no port
        except ValueError:
            return False
        if any(c in host for c in "/@?#\\ "):
            return False
        reached = str((scope.get("server") or ("",))[0])
        return name in self.house.names or (self.house.network and name == reached)

    def _station(self, headers: Headers) -> tuple[Station, str | None]:
        """Return the station a request comes from, and the cookie to set when it is new."""
        for text in headers.getlist("cookie"):
            try:
                kept = SimpleCookie(text).get(COOKIE)
            except CookieError:
                continue
            if kept is not None and (station := self.house.keys.station(kept.value)):
                return station, None
        station = new_station("new station" if self.house.network else "this computer")
        return station, cookie_header(self.house.keys.cookie(station))

    def _closed(self, scope: Scope, station: Station) -> Response | None:
        path = scope["path"]
        if self.house.may_enter(station) or path in OPEN or path.startswith(LOOKS):
            return None
        if scope["method"] == "POST" or path == "/stream":
            return PlainTextResponse("This station is not paired.", 403)
        return RedirectResponse("/pair", 303)


def most_of(path: str) -> int:
    """Return how many bytes a request to a page may carry."""
    return next((most for pages, most in LARGE if pages.fullmatch(path)), FORM)


def cookie_header(value: str) -> str:
    """Return the header that lets a browser keep its station."""
    return f"{COOKIE}={quote(value, safe='.-_')}; Path=/; Max-Age={DAYS * 86_400}; HttpOnly; SameSite=Lax"


def _is_same_origin(headers: Headers, host: str) -> bool:
    """Whether a browser says that its own page, from here, sent a form; the token says the rest."""
    if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    if origin is None:
        return True
    try:
        there = urlsplit(origin)
        return there.netloc.lower() == host.lower() and there.scheme in ("http", "https")
    except ValueError:
        return False


def _counted(receive: Receive, most: int) -> Receive:
    """Return `receive`, ended once more came than may."""
    came = 0

    async def counted() -> Message:
        nonlocal came
        message = await receive()
        came += len(message.get("body", b""))
        if came > most:
            raise TooLarge
        return message

    return counted


def _with_headers(send: Send, cookie: str | None) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _for(headers.get("content-type", "")):
                headers.setdefault(name, value)
            if cookie and "set-cookie" not in headers:
                headers.append("set-cookie", cookie)
        await send(message)

    return sent


def _for(kind: str) -> Iterable[tuple[str, str]]:
    """Yield the headers of an answer; a browser's own viewer of PDFs needs its styles."""
    for name, value in HEADERS.items():
        if name == "content-security-policy" and kind == "application/pdf":
            value = "frame-ancestors 'none'"
        yield name, value
