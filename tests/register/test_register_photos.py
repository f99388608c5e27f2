"""Photos keep their picture and which way is up, and nothing else."""

from __future__ import annotations

import io
import struct
import zlib

import pytest
from PIL import Image, PngImagePlugin

from siteassess.register import actions
from siteassess.register.photos import stripped
from siteassess.register.verify import verify


def _points(data):
    with Image.open(io.BytesIO(data)) as image:
        return image.convert("RGB").tobytes()


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_the_picture_stays_point_for_point_and_the_secret_goes(picture, kind):
    raw = picture(kind, secret="SECRETPLACE")
    assert b"SECRETPLACE" in raw and b"Exif" in raw or kind == "PNG"
    photo = stripped(raw)
    assert _points(photo.data) == _points(raw)
    assert b"SECRET" not in photo.data and b"eXIf" not in photo.data
    with Image.open(io.BytesIO(photo.data)) as image:
        assert dict(image.getexif().get_ifd(0x8825)) == {}


@pytest.mark.parametrize("up", range(1, 9))
def test_which_way_is_up_is_kept(picture, up):
    photo = stripped(picture(secret="SECRETPLACE", up=up))
    with Image.open(io.BytesIO(photo.data)) as image:
        assert dict(image.getexif()) == ({0x0112: up} if up != 1 else {})


def test_stripping_twice_changes_nothing_more(picture):
    for kind in ("JPEG", "PNG"):
        once = stripped(picture(kind, secret="SECRET", up=6))
        assert stripped(once.data) == once


def _segment(marker, body):
    return b"\xff" + bytes([marker]) + struct.pack(">H", len(body) + 2) + body


@pytest.mark.parametrize("marker", [*range(0xE0, 0xF0), 0xFE])
def test_every_application_segment_and_comment_of_a_jpeg_goes(picture, marker):
    raw = picture()
    planted = raw[:2] + _segment(marker, b"SECRET http://ns.adobe.com/xap/1.0/ 50.1234567") + raw[2:]
    photo = stripped(planted)
    assert b"SECRET" not in photo.data and _points(photo.data) == _points(raw)


def test_what_is_hung_on_after_the_end_goes(picture):
    for kind in ("JPEG", "PNG"):
        raw = picture(kind)
        assert b"SECRET" not in stripped(raw + b"SECRETFILM" * 50).data


@pytest.mark.parametrize("chunk", [b"tEXt", b"zTXt", b"iTXt", b"eXIf", b"tIME", b"iCCP", b"prVt", b"caBX"])
def test_every_chunk_of_a_png_that_draws_nothing_goes(picture, chunk):
    raw = picture("PNG")
    body = b"Comment\0SECRET"
    piece = struct.pack(">I", len(body)) + chunk + body + struct.pack(">I", zlib.crc32(chunk + body))
    planted = raw[:33] + piece + raw[33:]
    photo = stripped(planted)
    assert b"SECRET" not in photo.data and _points(photo.data) == _points(raw)


def test_text_that_pillow_writes_goes(picture):
    out, info = io.BytesIO(), PngImagePlugin.PngInfo()
    info.add_text("Location", "SECRET 50.1 8.2", zip=True)
    Image.new("RGBA", (9, 9), (1, 2, 3, 4)).save(out, "PNG", pnginfo=info, dpi=(72, 72))
    with Image.open(io.BytesIO(stripped(out.getvalue()).data)) as image:
        assert image.info == {} and image.mode == "RGBA"


@pytest.mark.parametrize(
    "options", [{"progressive": True}, {"optimize": True, "subsampling": 2}, {"restart_marker_blocks": 1}]
)
def test_other_ways_to_write_a_jpeg_survive(options):
    out = io.BytesIO()
    dots = bytes((x * 37 + x * x * 11) % 256 for x in range(64 * 48 * 3))
    Image.frombytes("RGB", (64, 48), dots).save(out, "JPEG", **options)
    raw = out.getvalue()
    assert _points(stripped(raw).data) == _points(raw)


def test_printing_colours_survive():
    out = io.BytesIO()
    Image.new("CMYK", (16, 16), (10, 200, 30, 40)).save(out, "JPEG")
    raw = out.getvalue()
    assert _points(stripped(raw).data) == _points(raw)


def test_what_is_kept_is_named_by_its_hash_and_kept_once(group, picture):
    raw = picture(secret="SECRETPLACE")
    first = group.do(actions.add_photo, group["anchor T01"], raw, shows="base")
    group.do(actions.add_photo, group["anchor T02"], raw, shows="base again")
    media_type, data = group.store.photo(first.body["sha256"])
    assert media_type == "image/jpeg" and b"SECRET" not in data and len(data) == first.body["size_bytes"]
    assert group.store.db.execute("SELECT count(*) FROM photos").fetchone() == (1,)
    assert verify(group.store) == []
    assert b"SECRETPLACE" not in group.store.path.read_bytes()
