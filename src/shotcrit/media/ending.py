"""How long a file says it is: a copy that broke off is shorter. Reads only the few bytes that say so."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

_EBML = b"\x1a\x45\xdf\xa3"
_SEGMENT = b"\x18\x53\x80\x67"
_MXF_PARTITION = b"\x06\x0e\x2b\x34\x02\x05\x01\x01\x0d\x01\x02\x01\x01"
_FEWEST_FOOTER_BYTES = 16


def missing_bytes(path: Path) -> int:
    """How many bytes the file lacks by its own word; 0 when it is whole or does not say."""
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(16)
        file.seek(0)
        try:
            said = _said_size(file, head, size)
        except (struct.error, IndexError, ValueError):
            return 0
    return max(0, said - size)


def _said_size(file: BinaryIO, head: bytes, size: int) -> int:
    if head[:4] in (b"RIFF", b"RF64"):
        return _riff(head)
    if head[:4] == _EBML:
        return _matroska(file)
    if head.startswith(_MXF_PARTITION):
        return _mxf(file)
    if head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"):
        return _boxes(file, size)
    return 0


def _riff(head: bytes) -> int:
    length = struct.unpack("<I", head[4:8])[0]
    return 0 if length in (0, 0xFFFFFFFF) else length + 8


def _boxes(file: BinaryIO, size: int) -> int:
    """Walk the top-level boxes of ISO base media (ISO/IEC 14496-12, 4.2) to the end of the last."""
    at = 0
    while at + 8 <= size:
        file.seek(at)
        length = struct.unpack(">I", file.read(8)[:4])[0]
        if length == 1:
            length = struct.unpack(">Q", file.read(8))[0]
        if length == 0:
            return size
        if length < 8:
            return 0
        at += length
    return at


def _matroska(file: BinaryIO) -> int:
    """End of the segment (RFC 8794 variable-size integers, RFC 9559 Segment)."""
    file.read(4)
    file.seek(_vint(file), 1)
    if file.read(4) != _SEGMENT:
        return 0
    length = _vint(file)
    return 0 if length < 0 else file.tell() + length


def _vint(file: BinaryIO) -> int:
    """A variable-size integer; -1 for the reserved 'unknown'."""
    first = file.read(1)[0]
    extra = 8 - first.bit_length()
    value = first & ((1 << (7 - extra)) - 1) if extra < 8 else 0
    for byte in file.read(extra):
        value = value << 8 | byte
    return -1 if value == (1 << (7 * (extra + 1))) - 1 else value


def _mxf(file: BinaryIO) -> int:
    """At least the footer partition, where the header says it lies (SMPTE ST 377-1, 7.1 partition pack)."""
    file.seek(16)
    first = file.read(1)[0]
    if first & 0x80:
        file.seek(first & 0x7F, 1)
    file.seek(2 + 2 + 4 + 8 + 8, 1)
    footer = struct.unpack(">Q", file.read(8))[0]
    return footer + _FEWEST_FOOTER_BYTES if footer else 0
