"""Signed cookies and tokens: which browser a request comes from, and that our own page sent it."""

from __future__ import annotations

import os
import secrets
from dataclasses import asdict, dataclass
from hmac import compare_digest
from pathlib import Path

from itsdangerous import BadData, Signer, URLSafeTimedSerializer

from stockyard.errors import Refused

COOKIE = "station"
# Browsers keep no cookie longer than this many days.
DAYS = 400
_LENGTH = 32


@dataclass(frozen=True, slots=True)
class Station:
    """A browser: its own number, the name the ledger gets, and whether it was paired with a code."""

    id: str
    name: str
    paired: bool = False


def new_station(name: str, *, paired: bool = False) -> Station:
    """Return a station that no other has the number of."""
    return Station(secrets.token_urlsafe(12), name, paired)


@dataclass(frozen=True, slots=True)
class Keys:
    """What one yard's pages are signed with."""

    secret: bytes

    def cookie(self, station: Station) -> str:
        """Return what a browser keeps."""
        return self._serializer.dumps(asdict(station))

    def station(self, cookie: str) -> Station | None:
        """Return the station of a cookie; None when it is not ours, or too old."""
        try:
            found = self._serializer.loads(cookie, max_age=DAYS * 86_400)
            return Station(str(found["id"]), str(found["name"]), found["paired"] is True)
        except (BadData, KeyError, TypeError):
            return None

    def token(self, station: Station) -> str:
        """Return what every form of this station's pages carries."""
        return self._signer.get_signature(station.id).decode("ascii")

    def is_token(self, station: Station, given: str) -> bool:
        """Whether a form came from a page of this station."""
        return compare_digest(given.encode("utf-8", "replace"), self.token(station).encode("ascii"))

    @property
    def _serializer(self) -> URLSafeTimedSerializer:
        return URLSafeTimedSerializer(self.secret, salt="station")

    @property
    def _signer(self) -> Signer:
        return Signer(self.secret, salt="write")


def key_file(yard: Path) -> Path:
    """Return where the key of a yard's pages lies."""
    return yard.with_name(yard.name + ".page-key")


def keys_of(yard: Path, *, forget: bool = False) -> Keys:
    """Return the keys of a yard's pages, made at first use; `forget` makes new ones: all pair again.

    Raises:
        Refused: the file can be neither read nor made.
    """
    path = key_file(yard)
    try:
        if forget:
            path.unlink(missing_ok=True)
        if not path.exists():
            _make(path)
        secret = path.read_bytes()
    except OSError as error:
        raise Refused(f"{path}: {error.strerror or error}: the stations' key cannot be kept") from None
    if len(secret) != _LENGTH:
        raise Refused(f"{path} is not a key of this program: take it away, then pair the stations again")
    return Keys(secret)


def _make(path: Path) -> None:
    """Write a new key that only its owner can read, whole or not at all."""
    draft = path.with_name(f"{path.name}.{secrets.token_hex(6)}")
    fd = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(fd, "wb") as file:
        file.write(secrets.token_bytes(_LENGTH))
    draft.replace(path)
