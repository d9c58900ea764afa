"""A kept photograph is upright, of a sensible size, and carries nothing but its pixels.

Outside the project: Pillow's own `ImageOps.exif_transpose` and the orientation table of Exif
(CIPA DC-008-2023, tag 0x0112) say how a picture must be turned; markers of a JPEG file are
those of ITU-T T.81, annex B.
"""

from __future__ import annotations

import io
import struct
from contextlib import suppress
from datetime import datetime
from hashlib import sha256
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms, ImageDraw, ImageOps
from PIL.TiffImagePlugin import IFDRational

from lastbee.errors import InvalidInput
from lastbee.office import pictures
from lastbee.office.pictures import LONGEST_SIDE_PX, SMALL_SIDE_PX, Picture, ready_picture

CORNERS = {"red": (255, 0, 0), "green": (0, 160, 0), "blue": (0, 0, 255), "white": (255,) * 3}


def drawn(width_px: int = 96, height_px: int = 64) -> Image.Image:
    """A picture whose four corners differ: red, green over blue, white."""
    image = Image.new("RGB", (width_px, height_px))
    draw = ImageDraw.Draw(image)
    half_w, half_h = width_px // 2, height_px // 2
    for (x, y), colour in zip(
        [(0, 0), (half_w, 0), (0, half_h), (half_w, half_h)], CORNERS.values(), strict=True
    ):
        draw.rectangle((x, y, x + half_w, y + half_h), fill=colour)
    return image


def written(image: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    """The picture as a file."""
    file = io.BytesIO()
    image.save(file, kind, **options)
    return file.getvalue()


def with_position(latitude: tuple[float, float, float] = (43.0, 6.0, 30.0)) -> bytes:
    """A JPEG as a phone writes it: position, owner, time, a thumbnail's worth of notes."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x8298] = "Maker", "Model", "Owner of the phone"
    exif.get_ifd(0x8769)[0x9003] = "2026:07:08 14:05:09"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2] = "N", tuple(IFDRational(round(v * 100), 100) for v in latitude)
    gps[3], gps[4] = "W", tuple(IFDRational(v) for v in (72, 24, 0))
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF>GPSLatitude 43,6.5N</rdf:RDF></x:xmpmeta>'
    return written(drawn(), exif=exif, comment=b"taken at 43.108333", icc_profile=profile, xmp=xmp)


def markers(jpeg: bytes) -> list[int]:
    """Markers of a JPEG up to its first scan (ITU-T T.81, B.1.1.3 and B.1.1.4)."""
    found, at = [], 2
    while True:
        assert jpeg[at] == 0xFF
        marker = jpeg[at + 1]
        found.append(marker)
        if marker == 0xDA:
            return found
        at += 2 + struct.unpack(">H", jpeg[at + 2 : at + 4])[0]


def corner_names(image: Image.Image) -> list[str]:
    """The nearest named colour in each corner, row by row."""
    w, h = image.size
    points = [
        (w // 5, h // 5),
        (4 * w // 5, h // 5),
        (w // 5, 4 * h // 5),
        (4 * w // 5, 4 * h // 5),
    ]

    def nearest(point: tuple[int, int]) -> str:
        pixel = image.getpixel(point)
        assert isinstance(pixel, tuple)
        return min(
            CORNERS,
            key=lambda name: sum((a - b) ** 2 for a, b in zip(pixel, CORNERS[name], strict=True)),
        )

    return [nearest(point) for point in points]


def read_back(jpeg: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(jpeg))
    image.load()
    return image


class TestNothingButPixels:
    @pytest.mark.parametrize("keeps_location", [False, True])
    def test_position_owner_and_words_are_gone_from_the_bytes(self, keeps_location: bool) -> None:
        raw = with_position()
        for told in (b"Exif\0\0", b"Owner of the phone", b"GPSLatitude", b"43.108333"):
            assert told in raw  # the check below would mean nothing otherwise
        kept = ready_picture(raw, keeps_location=keeps_location)
        for jpeg in (kept.jpeg, kept.small_jpeg):
            for told in (b"Exif", b"Owner", b"GPS", b"43.108333", b"ICC_PROFILE", b"xmpmeta"):
                assert told not in jpeg
            image = read_back(jpeg)
            assert not dict(image.getexif())
            assert not image.getexif().get_ifd(0x8825)
            assert not {"exif", "comment", "icc_profile", "xmp", "photoshop"} & set(image.info)

    def test_only_the_segments_that_decode_the_picture_are_left(self) -> None:
        """APP1 to APP15 (0xE1 to 0xEF) and comments (0xFE) hold what a camera tells."""
        kept = ready_picture(with_position(), keeps_location=True)
        for jpeg in (kept.jpeg, kept.small_jpeg):
            assert not [m for m in markers(jpeg) if 0xE1 <= m <= 0xEF or m == 0xFE]

    def test_the_position_is_handed_out_only_if_asked_for(self) -> None:
        kept = ready_picture(with_position(), keeps_location=True)
        # 43 degrees, 6 minutes, 30 seconds: 43 + 6/60 + 30/3600, by hand.
        assert kept.latitude_deg == pytest.approx(43.108333, abs=1e-6)
        assert kept.longitude_deg == pytest.approx(-72.4, abs=1e-6)
        bare = ready_picture(with_position(), keeps_location=False)
        assert (bare.latitude_deg, bare.longitude_deg) == (None, None)
        assert bare.jpeg == kept.jpeg

    def test_a_position_that_cannot_be_is_none(self) -> None:
        kept = ready_picture(with_position((143.0, 0.0, 0.0)), keeps_location=True)
        assert (kept.latitude_deg, kept.longitude_deg) == (None, None)

    def test_the_camera_s_clock_is_read(self) -> None:
        taken = ready_picture(with_position(), keeps_location=False).taken_at
        assert taken == datetime(2026, 7, 8, 14, 5, 9)  # noqa: DTZ001
        assert ready_picture(written(drawn()), keeps_location=False).taken_at is None

    def test_notes_of_a_png_are_left_behind(self) -> None:
        from PIL.PngImagePlugin import PngInfo

        notes = PngInfo()
        notes.add_text("Author", "Owner of the phone")
        kept = ready_picture(written(drawn(), "PNG", pnginfo=notes), keeps_location=True)
        assert b"Owner" not in kept.jpeg


class TestUpright:
    @pytest.mark.parametrize("orientation", range(1, 9))
    def test_as_the_reference_turns_it(self, orientation: int) -> None:
        exif = Image.Exif()
        exif[0x0112] = orientation
        raw = written(drawn(), exif=exif, quality=95)
        reference = ImageOps.exif_transpose(read_back(raw))
        kept = read_back(ready_picture(raw, keeps_location=False).jpeg)
        assert kept.size == reference.size
        assert corner_names(kept) == corner_names(reference)

    @pytest.mark.parametrize(
        ("orientation", "corners"),
        [
            # Exif tag 0x0112: where row 0 and column 0 of the file belong. 3: bottom, right;
            # 6: right, top; 8: left, bottom.
            (1, ["red", "green", "blue", "white"]),
            (3, ["white", "blue", "green", "red"]),
            (6, ["blue", "red", "white", "green"]),
            (8, ["green", "white", "red", "blue"]),
        ],
    )
    def test_corners_by_hand(self, orientation: int, corners: list[str]) -> None:
        exif = Image.Exif()
        exif[0x0112] = orientation
        raw = written(drawn(), exif=exif, quality=95)
        kept = read_back(ready_picture(raw, keeps_location=False).jpeg)
        assert corner_names(kept) == corners


class TestSize:
    @pytest.mark.parametrize("size", [(4000, 3000), (3000, 4000), (1601, 10), (5000, 40)])
    def test_the_longest_side_is_cut_and_the_shape_kept(self, size: tuple[int, int]) -> None:
        kept = ready_picture(written(drawn(*size)), keeps_location=False)
        assert max(kept.width_px, kept.height_px) == LONGEST_SIDE_PX
        assert (kept.width_px, kept.height_px) == read_back(kept.jpeg).size
        assert kept.width_px / kept.height_px == pytest.approx(size[0] / size[1], rel=0.15)
        assert max(read_back(kept.small_jpeg).size) == SMALL_SIDE_PX

    def test_a_small_picture_is_not_blown_up(self) -> None:
        kept = ready_picture(written(drawn(30, 20)), keeps_location=False)
        assert (kept.width_px, kept.height_px) == (30, 20)
        assert read_back(kept.small_jpeg).size == (30, 20)

    def test_the_name_is_the_hash_of_what_is_kept_and_the_same_twice(self) -> None:
        raw = with_position()
        first, second = (ready_picture(raw, keeps_location=False) for _ in range(2))
        assert first == second
        assert first.sha256 == sha256(first.jpeg).hexdigest()


class TestKinds:
    @pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "PA", "RGBA", "CMYK", "YCbCr", "I;16"])
    def test_any_mode_becomes_a_plain_picture(self, mode: str) -> None:
        kind = "JPEG" if mode in ("CMYK", "YCbCr") else "TIFF" if mode == "PA" else "PNG"
        source = drawn().convert("L").convert("I") if mode == "I;16" else drawn()
        if mode == "PA":
            mode = "LA"
        kept = read_back(
            ready_picture(written(source.convert(mode), kind), keeps_location=False).jpeg
        )
        assert (kept.mode, kept.size) == ("RGB", (96, 64))

    def test_what_is_clear_becomes_white(self) -> None:
        raw = written(Image.new("RGBA", (40, 40), (0, 0, 0, 0)), "PNG")
        kept = read_back(ready_picture(raw, keeps_location=False).jpeg)
        assert kept.getpixel((20, 20)) == (255, 255, 255)

    @pytest.mark.parametrize("kind", ["WEBP", "AVIF", "TIFF"])
    def test_other_formats_of_phones(self, kind: str) -> None:
        kept = read_back(ready_picture(written(drawn(), kind), keeps_location=False).jpeg)
        assert corner_names(kept) == list(CORNERS)

    def test_heic_where_its_reader_is_installed(self) -> None:
        heif = pytest.importorskip("pillow_heif")
        file = io.BytesIO()
        heif.from_pillow(drawn()).save(file, quality=90)
        kept = read_back(ready_picture(file.getvalue(), keeps_location=False).jpeg)
        assert corner_names(kept) == list(CORNERS)


def refusal(raw: bytes) -> str:
    with pytest.raises(InvalidInput) as caught:
        ready_picture(raw, keeps_location=True)
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].field == "picture"
    return caught.value.problems[0].sentence


class TestRefused:
    @pytest.mark.parametrize(
        ("raw", "says"),
        [
            (b"", "empty"),
            (b"GIF89a" + bytes(40), "JPEG or PNG"),
            (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "JPEG or PNG"),
            (b"%PDF-1.7", "JPEG or PNG"),
            (with_position()[:400], "picture"),
            (written(drawn(600, 400))[:-300], "damaged"),
            (written(drawn(600, 400), "PNG")[:-60], "damaged"),
        ],
    )
    def test_in_one_clear_sentence(self, raw: bytes, says: str) -> None:
        assert says in refusal(raw)

    def test_more_bytes_than_are_looked_at(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(pictures, "MOST_BYTES", 2**20)
        assert "at most 1 MB" in refusal(bytes(2**20 + 1))

    @pytest.mark.parametrize("side_px", [9_000, 20_000, 60_000])
    def test_a_few_bytes_that_would_unfold_into_gigabytes(self, side_px: int) -> None:
        """The head of a PNG says its size (RFC 2083, 11.2.2) before a pixel is decoded."""
        import zlib

        def chunk(name: bytes, data: bytes) -> bytes:
            return (
                struct.pack(">I", len(data)) + name + data
                + struct.pack(">I", zlib.crc32(name + data))
            )  # fmt: skip

        head = struct.pack(">IIBBBBB", side_px, side_px, 8, 2, 0, 0, 0)
        bomb = (
            b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head)
            + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
        )  # fmt: skip
        assert "million pixels" in refusal(bomb)

    @settings(max_examples=60)
    @given(st.data())
    def test_any_bytes_give_a_picture_or_a_sentence(self, data: st.DataObject) -> None:
        source = bytearray(data.draw(st.sampled_from([SOME_JPEG, SOME_PNG, b""])))
        for _ in range(data.draw(st.integers(0, 6)) if source else 0):
            source[data.draw(st.integers(0, len(source) - 1))] = data.draw(st.integers(0, 255))
        raw = bytes(source) + data.draw(st.binary(max_size=40))
        with suppress(InvalidInput):
            kept = ready_picture(raw, keeps_location=True)
            assert isinstance(kept, Picture)
            assert b"Exif" not in kept.jpeg


SOME_JPEG, SOME_PNG = with_position(), written(drawn(), "PNG")
