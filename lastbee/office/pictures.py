"""Photographs made fit to keep: upright, of a sensible size, and bare of everything but light.

A phone writes into a photograph where it was taken, by whom and with what. All of that is
left behind: the picture is decoded and its pixels alone are encoded anew. The position is
handed out beside the picture, and only if somebody asked for it to be kept.

Pictures of HEIC files are read where the package `pillow-heif` is installed.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from lastbee.errors import InvalidInput, Problem

if TYPE_CHECKING:
    from PIL import Image

LONGEST_SIDE_PX = 1600
"""Longest side of a kept picture: enough to read a gap by on a page of a report."""

SMALL_SIDE_PX = 400
"""Longest side of the small copy that lists show."""

MOST_BYTES = 25 * 2**20
"""Largest file that is looked at."""

MOST_PIXELS = 65_000_000
"""Most pixels that are decoded; phones of today write up to 64 million."""

# Phones that write two pictures into one JPEG are read as JPEG too.
_FORMATS = ("JPEG", "PNG", "WEBP", "AVIF", "TIFF")
_QUALITY, _SMALL_QUALITY = 82, 72
# Tags of Exif 3.0 (CIPA DC-008-2023): the pointers to its parts, and what is read of them.
_EXIF_IFD, _GPS_IFD = 0x8769, 0x8825
_TAKEN, _CHANGED = 0x9003, 0x0132
_LATITUDE_REF, _LATITUDE, _LONGITUDE_REF, _LONGITUDE = 1, 2, 3, 4


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph as it is kept.

    Attributes
    ----------
    sha256
        Of `jpeg`, in lower-case hex; the name that entries know it by.
    jpeg, small_jpeg
        The picture and a small copy, without metadata.
    width_px, height_px
        Size of `jpeg`.
    taken_at
        When, by the camera's own clock, without a zone; None if it does not say.
    latitude_deg, longitude_deg
        Where; None if the camera did not say or nobody asked to keep it.
    """

    sha256: str
    jpeg: bytes
    small_jpeg: bytes
    width_px: int
    height_px: int
    taken_at: datetime | None
    latitude_deg: float | None
    longitude_deg: float | None


def ready_picture(raw: bytes, *, keeps_location: bool) -> Picture:
    """Make a photograph fit to keep.

    Parameters
    ----------
    raw
        The file as the camera wrote it.
    keeps_location
        Whether the position is handed out beside the picture. The picture itself never
        carries it.

    Raises
    ------
    InvalidInput
        If it is no picture, is too large, or is damaged; one problem with the field `picture`.
    """
    opened = _opened(raw)
    exif = _exif_of(opened)
    upright = _decoded(opened)
    kept = _within(upright, LONGEST_SIDE_PX)
    jpeg = _jpeg(kept, _QUALITY)
    latitude, longitude = _position(exif) if keeps_location else (None, None)
    return Picture(
        sha256=sha256(jpeg).hexdigest(),
        jpeg=jpeg,
        small_jpeg=_jpeg(_within(kept, SMALL_SIDE_PX), _SMALL_QUALITY),
        width_px=kept.width,
        height_px=kept.height,
        taken_at=_taken_at(exif),
        latitude_deg=latitude,
        longitude_deg=longitude,
    )


def _refused(found: str, mend: str) -> InvalidInput:
    return InvalidInput([Problem("picture", found, mend)])


def _opened(raw: bytes) -> Image.Image:
    """Read the head of the file, which tells its kind and size before anything is decoded."""
    from PIL import Image

    if not raw:
        raise _refused("an empty file", "choose the picture again")
    if len(raw) > MOST_BYTES:
        raise _refused(
            f"a file of {len(raw) / 2**20:.0f} MB",
            f"choose one of at most {MOST_BYTES // 2**20} MB",
        )
    formats = (*_FORMATS, "HEIF") if _reads_heif() else _FORMATS
    try:
        opened = Image.open(io.BytesIO(raw), formats=formats)
        too_many = opened.width * opened.height > MOST_PIXELS
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        too_many = True
    # A decoder meets bytes that anybody may have sent; whatever it stumbles over is no picture.
    except Exception as error:
        raise _refused(
            "no picture that can be read here", "choose a photograph as JPEG or PNG"
        ) from error
    if too_many:
        raise _refused(
            f"a picture of more than {MOST_PIXELS // 10**6} million pixels",
            "set the camera to a smaller size, or choose another",
        )
    return opened


def _reads_heif() -> bool:
    try:
        from pillow_heif import register_heif_opener
    except ImportError:
        return False
    register_heif_opener(thumbnails=False)
    return True


def _decoded(opened: Image.Image) -> Image.Image:
    """Decode the pixels: upright, in red, green and blue of the common screen, nothing else."""
    from PIL import Image, ImageOps

    try:
        # A JPEG can be decoded at a half, a quarter or an eighth of its size at once.
        opened.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
        opened.load()
        upright = ImageOps.exif_transpose(_shrunk(opened))
        return _in_common_colours(upright)
    except (Image.DecompressionBombError, MemoryError) as error:
        raise _refused("a picture too large to open", "choose a smaller one") from error
    except Exception as error:
        raise _refused("damaged or cut short", "choose the picture again") from error


def _shrunk(image: Image.Image) -> Image.Image:
    """Shrink before turning and converting, which keeps memory low."""
    image.thumbnail((LONGEST_SIDE_PX * 2, LONGEST_SIDE_PX * 2))
    return image


def _in_common_colours(image: Image.Image) -> Image.Image:
    from PIL import Image

    profile = image.info.get("icc_profile")
    if image.mode not in ("RGB", "RGBA", "CMYK", "L"):
        image = image.convert("RGBA" if "transparency" in image.info else "RGB")
    if profile and image.mode in ("RGB", "CMYK", "L"):
        image = _from_profile(image, profile)
    if image.mode == "RGBA":
        white = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(white, image)
    bare = Image.new("RGB", image.size)
    bare.paste(image.convert("RGB"))
    return bare


def _from_profile(image: Image.Image, profile: bytes) -> Image.Image:
    """Bring the colours of a wide camera profile into those that every screen shows."""
    from PIL import ImageCms

    try:
        return (
            ImageCms.profileToProfile(
                image,
                ImageCms.ImageCmsProfile(io.BytesIO(profile)),
                ImageCms.createProfile("sRGB"),
                outputMode="RGB",
            )
            or image
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return image


def _within(image: Image.Image, side_px: int) -> Image.Image:
    from PIL import Image

    scale = side_px / max(image.size)
    if scale >= 1.0:
        return image
    width, height = (max(1, round(side * scale)) for side in image.size)
    return image.resize((width, height), Image.Resampling.LANCZOS)


def _jpeg(image: Image.Image, quality: int) -> bytes:
    written = io.BytesIO()
    image.save(written, "JPEG", quality=quality, optimize=True, progressive=True)
    return written.getvalue()


def _exif_of(opened: Image.Image) -> Any:
    """What the camera wrote beside the picture; empty where that cannot be read."""
    from PIL import Image

    try:
        return opened.getexif()
    # Damaged notes of a camera are no reason to refuse its picture.
    except Exception:
        return Image.Exif()


def _part(exif: Any, pointer: int) -> dict[int, Any]:
    try:
        return dict(exif.get_ifd(pointer))
    except Exception:
        return {}


def _taken_at(exif: Any) -> datetime | None:
    for written in (_part(exif, _EXIF_IFD).get(_TAKEN), exif.get(_CHANGED)):
        try:
            # The camera's own clock has no zone.
            return datetime.strptime(str(written).strip("\0 "), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007
        except ValueError:
            continue
    return None


def _position(exif: Any) -> tuple[float | None, float | None]:
    gps = _part(exif, _GPS_IFD)
    latitude = _degrees(gps.get(_LATITUDE), gps.get(_LATITUDE_REF), "S", 90.0)
    longitude = _degrees(gps.get(_LONGITUDE), gps.get(_LONGITUDE_REF), "W", 180.0)
    if latitude is None or longitude is None:
        return None, None
    return latitude, longitude


def _degrees(parts: Any, side: Any, negative: str, most: float) -> float | None:
    """Degrees, minutes and seconds as degrees; six decimals are a hand's breadth."""
    try:
        degrees, minutes, seconds = (float(part) for part in parts)
        value = degrees + minutes / 60.0 + seconds / 3600.0
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not math.isfinite(value) or not 0.0 <= value <= most:
        return None
    return round(-value if str(side).strip("\0 ").upper() == negative else value, 6)
