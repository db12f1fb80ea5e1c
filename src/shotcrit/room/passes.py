"""How a browser that was in comes in again after the room was opened anew: a cookie that one person's key and one crit make."""

from __future__ import annotations

import hmac
import os
import secrets
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

KEY_BYTES = 32
"""256 random bits."""
NAME_DIGITS = 12


@dataclass(frozen=True)
class Pass:
    """The cookie that lets a browser in. Cookies are shared between the ports of a host, so each crit's room has a name of its own."""

    name: str
    value: str


def pass_for(crit_id: str, key: bytes) -> Pass:
    """The same for a crit and a key, whenever the room is opened; whoever has only one of the two cannot make it."""
    value = hmac.new(key, f"shotcrit room {crit_id}".encode(), sha256).hexdigest()
    return Pass(f"shotcrit_{sha256(crit_id.encode()).hexdigest()[:NAME_DIGITS]}", value)


def own_key(path: Path | None) -> bytes:
    """The person's key from a file that only they may read, made when it is not there. None, or where no file can be kept: one for this time."""
    if path is None:
        return secrets.token_bytes(KEY_BYTES)
    fresh = secrets.token_bytes(KEY_BYTES)
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(fresh)
        return fresh
    try:
        kept = path.read_bytes()
    except OSError:
        return fresh
    return kept if len(kept) == KEY_BYTES else fresh
