"""What a camera writes into a photo beside the picture (place, time, owner, its own number) is taken out.

The picture itself is not touched, its colours and its turn stay.  JPEG: ISO/IEC 10918-1, annex B; PNG: W3C PNG
(third edition), chapter 5; WebP: RFC 9649; Exif orientation: CIPA DC-008, tag 0x0112.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

from coutil.errors import BadInput

Part = tuple[bytes, bytes]

# JPEG: the start and end of an image and of a scan, and the parts an application writes.
SOI, EOI, SOS = 0xD8, 0xD9, 0xDA
RESTARTS = range(0xD0, 0xD8)
ICC = b"ICC_PROFILE\x00"
# JFIF's own head, and Adobe's note on the colours, without which they come out wrong.
KEPT_APPS = (0xE0, 0xEE)
PNG_HEAD = b"\x89PNG\r\n\x1a\n"
# Of PNG's optional chunks those that say how the picture looks.
PNG_LOOKS = frozenset({b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP", b"bKGD", b"pHYs"})
WEBP_LOOKS = frozenset({b"VP8 ", b"VP8L", b"VP8X", b"ANIM", b"ANMF", b"ALPH", b"ICCP"})
WEBP_EXIF, WEBP_XMP = 0x08, 0x04
ORIENTATION = 0x0112
TURNS = range(2, 9)


def without_marks(data: bytes, kind: str) -> bytes:
    """The photo with its picture, its colours and its turn alone; raises BadInput for one that is damaged."""
    clean = {"image/jpeg": _jpeg, "image/png": _png, "image/webp": _webp}[kind]
    try:
        return clean(data)
    except (ValueError, IndexError, struct.error) as error:
        raise BadInput("The photo is damaged: open it in a picture program, save it anew, and try again.") from error


def _jpeg(data: bytes) -> bytes:
    parts, turn = [], 1
    for marker, part in _jpeg_parts(data):
        if marker == 0xE1 and part[4:10] == b"Exif\x00\x00":
            turn = _turn_in(part[10:])
        is_app = 0xE0 <= marker <= 0xEF
        if marker == 0xFE or (is_app and marker not in KEPT_APPS and not (marker == 0xE2 and part[4:16] == ICC)):
            continue
        parts.append(part)
    if turn in TURNS:
        exif = b"Exif\x00\x00" + _exif(turn)
        parts.insert(1, b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif)
    return b"".join(parts)


def _jpeg_parts(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Every part with its marker, a scan with all its data; what follows the end of the image is left out."""
    at = 0
    while True:
        if data[at] != 0xFF:
            raise ValueError("no marker")
        while data[at + 1] == 0xFF:
            at += 1
        marker = data[at + 1]
        if marker in (SOI, EOI):
            yield marker, data[at : at + 2]
            at += 2
            if marker == EOI:
                return
            continue
        end = at + 2 + struct.unpack(">H", data[at + 2 : at + 4])[0]
        if end > len(data):
            raise ValueError("cut off")
        end = _scan_end(data, end) if marker == SOS else end
        yield marker, data[at:end]
        at = end


def _scan_end(data: bytes, at: int) -> int:
    """Where the next marker begins after a scan's data, in which FF is followed by 0 or a restart."""
    while True:
        at = data.index(b"\xff", at)
        if data[at + 1] == 0 or data[at + 1] in RESTARTS:
            at += 2
        elif data[at + 1] == 0xFF:
            at += 1
        else:
            return at


def _png(data: bytes) -> bytes:
    parts, turn = [PNG_HEAD], 1
    for name, part in _png_chunks(data):
        if name == b"eXIf":
            turn = _turn_in(part[8:-4])
        if name[0] & 0x20 and name not in PNG_LOOKS:
            continue
        parts.append(part)
    if turn in TURNS:
        parts.insert(2, _png_chunk(b"eXIf", _exif(turn)))
    return b"".join(parts)


def _png_chunks(data: bytes) -> Iterator[Part]:
    at = len(PNG_HEAD)
    while True:
        (length,) = struct.unpack(">I", data[at : at + 4])
        name, end = data[at + 4 : at + 8], at + 12 + length
        if end > len(data):
            raise ValueError("cut off")
        yield name, data[at:end]
        if name == b"IEND":
            return
        at = end


def _png_chunk(name: bytes, body: bytes) -> bytes:
    import zlib

    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def _webp(data: bytes) -> bytes:
    chunks, turn = [], 1
    for name, body in _webp_chunks(data):
        if name == b"EXIF":
            turn = _turn_in(body.removeprefix(b"Exif\x00\x00"))
        if name in WEBP_LOOKS:
            chunks.append((name, body))
    if chunks and chunks[0][0] == b"VP8X":
        head = bytearray(chunks[0][1])
        head[0] &= ~(WEBP_EXIF | WEBP_XMP)
        if turn in TURNS:
            head[0] |= WEBP_EXIF
            chunks.append((b"EXIF", _exif(turn)))
        chunks[0] = (b"VP8X", bytes(head))
    body = b"".join(name + struct.pack("<I", len(part)) + part + b"\0" * (len(part) % 2) for name, part in chunks)
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body


def _webp_chunks(data: bytes) -> Iterator[Part]:
    size = 8 + struct.unpack("<I", data[4:8])[0]
    if size > len(data):
        raise ValueError("cut off")
    at = 12
    while at + 8 <= size:
        (length,) = struct.unpack("<I", data[at + 4 : at + 8])
        if at + 8 + length > size:
            raise ValueError("cut off")
        yield data[at : at + 4], data[at + 8 : at + 8 + length]
        at += 8 + length + length % 2


def _turn_in(tiff: bytes) -> int:
    """How the camera was held, 1 to 8, from an Exif block; 1 where it does not say."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None:
        return 1
    try:
        (first,) = struct.unpack(f"{order}I", tiff[4:8])
        (count,) = struct.unpack(f"{order}H", tiff[first : first + 2])
        for at in range(first + 2, first + 2 + 12 * count, 12):
            tag, _, _, value = struct.unpack(f"{order}HHIH", tiff[at : at + 10])
            if tag == ORIENTATION:
                return int(value)
    except struct.error:
        return 1
    return 1


def _exif(turn: int) -> bytes:
    """An Exif block that says how the camera was held and nothing else."""
    return b"II*\x00" + struct.pack("<IHHHIHHI", 8, 1, ORIENTATION, 3, 1, turn, 0, 0)
