"""Take position and camera data out of a photo (needs pillow, the extra `photos`).

Only JPEG, PNG and WebP are opened, and pictures of too many pixels are refused:
both as Pillow's own release notes advise against decompression bombs.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from diagnose.errors import InputError, Problem

KINDS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp"}
MOST_PIXELS = 60_000_000
QUALITY = 92

_EXIF_PART = 0x8769
_TAKEN, _OFFSET = 0x9003, 0x9011
_STARTS = ((b"\xff\xd8\xff", "jpg"), (b"\x89PNG\r\n\x1a\n", "png"))


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo ready to be kept."""

    data: bytes
    extension: str
    taken_at: str
    """When the camera says it was taken, ISO; empty when it does not say."""


def kind_of(data: bytes) -> str:
    """Return jpg, png or webp by how the content begins; empty for all else."""
    for start, extension in _STARTS:
        if data.startswith(start):
            return extension
    return "webp" if data[:4] == b"RIFF" and data[8:12] == b"WEBP" else ""


def stripped(data: bytes, name: str) -> Photo:
    """Return the picture alone: upright, without position, camera or owner.

    Raises
    ------
    InputError
        When pillow is not installed, or the file is no photo that can be read.
    """
    try:
        from PIL import Image, ImageOps
    except ImportError:
        raise InputError(
            [
                Problem(
                    None,
                    f"{name}: taking out where it was taken needs pillow, which is not installed",
                    "install this program with its extra `photos`, or keep the file with --as-it-is",
                )
            ]
        ) from None
    bombs = (Image.DecompressionBombError, Image.DecompressionBombWarning)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=tuple(KINDS)) as opened:
                if opened.width * opened.height > MOST_PIXELS:
                    raise _unusable(name, f"it has more than {MOST_PIXELS // 1_000_000} megapixels")
                extension = KINDS[str(opened.format)]
                taken = _taken_at(opened.getexif())
                profile = opened.info.get("icc_profile")
                upright = ImageOps.exif_transpose(opened)
                see_through = extension != "jpg" and upright.has_transparency_data
                picture = upright.convert("RGBA" if see_through else "RGB")
    except bombs:
        raise _unusable(name, "it unpacks to far more than its size") from None
    except (OSError, SyntaxError, ValueError, EOFError, TypeError, KeyError, OverflowError):
        raise _unusable(name, "it is no JPEG, PNG or WebP photo that can be read") from None
    # A new picture takes along nothing that was written beside the points.
    bare = Image.new(picture.mode, picture.size)
    bare.paste(picture)
    out = io.BytesIO()
    options: dict[str, Any] = {"icc_profile": profile} if isinstance(profile, bytes) else {}
    if extension != "png":
        options["quality"] = QUALITY
    bare.save(out, {"jpg": "JPEG", "png": "PNG", "webp": "WEBP"}[extension], **options)
    return Photo(out.getvalue(), extension, taken)


def _taken_at(exif: Any) -> str:
    """Return the time of capture; without the camera's offset it is on the clock of the site."""
    part = exif.get_ifd(_EXIF_PART)
    text, offset = str(part.get(_TAKEN, "")), str(part.get(_OFFSET, "")).strip("\x00 ")
    try:
        at = datetime.strptime(text.strip("\x00 "), "%Y:%m:%d %H:%M:%S")
        return datetime.fromisoformat(f"{at.isoformat()}{offset}").isoformat(timespec="minutes")
    except ValueError:
        return ""


def _unusable(name: str, why: str) -> InputError:
    return InputError([Problem(None, f"{name} cannot be kept as a photo: {why}")])
