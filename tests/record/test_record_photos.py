"""Photos are kept without place, time and camera; their picture, colours and turn stay."""

from __future__ import annotations

import io
import struct

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageOps, PngImagePlugin

from coutil.errors import BadInput
from coutil.record._photo_marks import without_marks
from helpers.photos import chunk, png

KINDS = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
SECRETS = (b"Lisbon", b"GPSLatitude", b"2026:10:01", b"Camera No. 4711", b"http://ns.adobe")


def photo(kind: str, turn: int = 1, **more: object) -> bytes:
    """A picture of 40 by 24 points with Exif (place, time, camera), XMP and comments."""
    picture = Image.linear_gradient("L").resize((40, 24)).convert("RGB")
    exif = Image.Exif()
    exif[0x0112] = turn
    exif[0x0110] = "Camera No. 4711"
    exif[0x0132] = "2026:10:01 12:00:00"
    exif[0x010E] = "Lisbon"
    exif.get_ifd(0x8825)[2] = (38.0, 43.0, 20.0)
    out = io.BytesIO()
    if kind == "PNG":
        told = PngImagePlugin.PngInfo()
        told.add_text("Location", "Lisbon GPSLatitude")
        told.add_itxt("XML:com.adobe.xmp", "http://ns.adobe Lisbon")
        more["pnginfo"] = told
    else:
        more["xmp"] = b"<x>http://ns.adobe Lisbon</x>"
    if kind == "JPEG":
        more["comment"] = b"Lisbon"
    picture.save(out, kind, exif=exif.tobytes(), **more)
    return out.getvalue()


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("turn", [1, 3, 6, 8])
def test_what_the_camera_wrote_is_gone_and_the_picture_stays(kind: str, turn: int) -> None:
    """Against Pillow: the same points after turning, no Exif but the turn, none of the words anywhere."""
    before = photo(kind, turn)
    assert any(secret in before for secret in SECRETS)
    after = without_marks(before, KINDS[kind])
    assert not any(secret in after for secret in SECRETS)
    shown = [ImageOps.exif_transpose(Image.open(io.BytesIO(data))).convert("RGB") for data in (before, after)]
    assert shown[0].size == shown[1].size
    assert shown[0].tobytes() == shown[1].tobytes()
    left = Image.open(io.BytesIO(after)).getexif()
    assert dict(left) == ({0x0112: turn} if turn > 1 else {})
    assert without_marks(after, KINDS[kind]) == after


def test_a_progressive_picture_and_a_colour_profile_stay() -> None:
    profile = b"a colour profile, as far as the file is concerned" * 40
    before = photo("JPEG", icc_profile=profile, progressive=True, restart_marker_blocks=1)
    after = Image.open(io.BytesIO(without_marks(before, "image/jpeg")))
    assert after.info["icc_profile"] == profile
    assert after.tobytes() == Image.open(io.BytesIO(before)).tobytes()


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_what_is_hung_on_behind_the_picture_goes_too(kind: str) -> None:
    """Some cameras add a film of the moment, with its own place, behind the end."""
    clean = without_marks(photo(kind), KINDS[kind])
    assert without_marks(clean + b"moov Lisbon" * 9, KINDS[kind]) == clean


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_cut_off_anywhere_is_refused_or_whole(kind: str) -> None:
    data = photo(kind)
    for end in range(12, len(data) - 1, 7):
        with pytest.raises(BadInput, match="damaged"):
            without_marks(data[:end], KINDS[kind])


@settings(max_examples=300, deadline=None)
@given(kind=st.sampled_from(sorted(KINDS)), at=st.integers(0, 3000), byte=st.integers(0, 255))
def test_a_broken_byte_is_refused_or_kept_and_never_a_fault(kind: str, at: int, byte: int) -> None:
    data = bytearray(photo(kind))
    data[at % len(data)] = byte
    try:
        without_marks(bytes(data), KINDS[kind])
    except BadInput as error:
        assert "damaged" in str(error)  # noqa: PT017 - both endings are right, another error is not.


def test_by_hand() -> None:
    """A PNG of 8 + 25 + 12 + n + 12 bytes; a text chunk of 12 + 6 more is gone."""
    clean = png(b"abc")
    assert len(clean) == 8 + 25 + 15 + 12
    marked = clean[:33] + chunk(b"tEXt", b"a\0Rome") + clean[33:]
    assert without_marks(marked, "image/png") == clean
    jpeg = b"\xff\xd8\xff\xfe\x00\x06Rome\xff\xda\x00\x02\x01\xff\x00\x02\xff\xd9"
    assert without_marks(jpeg, "image/jpeg") == b"\xff\xd8\xff\xda\x00\x02\x01\xff\x00\x02\xff\xd9"
    body = b"WEBP" + b"VP8 " + struct.pack("<I", 2) + b"ab" + b"EXIF" + struct.pack("<I", 4) + b"Rome"
    webp = b"RIFF" + struct.pack("<I", len(body)) + body
    assert without_marks(webp, "image/webp") == b"RIFF" + struct.pack("<I", 14) + body[:14]
