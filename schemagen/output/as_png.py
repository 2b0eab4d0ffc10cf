"""A sheet as PNG, drawn from its SVG with the font that ships with the program and no other."""

import struct
import zlib
from collections.abc import Sequence

from schemagen.base.text import FAMILY, FONT_FILES
from schemagen.output.as_svg import svg_text
from schemagen.sheets.sheet import CannotDraw, Sheet

MM_PER_INCH = 25.4
MOST_DOTS = 60_000_000
"""Most dots of one picture; beyond that memory runs short before anyone could look at it."""

_SIGNATURE_AND_HEADER = 33
"""Bytes of a PNG before the place where the size of a dot is told: signature and IHDR."""


class TooManyDots(CannotDraw):
    """The picture would be too large at this number of dots per inch; the message says what would do."""


def encode(sheets: Sequence[Sheet], dpi: int) -> tuple[bytes, ...]:
    """A file for each sheet, at `dpi` dots per inch. Raises TooManyDots."""
    return tuple(png_of(sheet, dpi) for sheet in sheets)


def png_of(sheet: Sheet, dpi: int) -> bytes:
    """The sheet as a picture, at `dpi` dots per inch. Raises TooManyDots."""
    import resvg_py

    wide, high = (round(side / MM_PER_INCH * dpi) for side in (sheet.width, sheet.height))
    if wide * high > MOST_DOTS:
        most = int(dpi * (MOST_DOTS / (wide * high)) ** 0.5)
        size = f"{sheet.width:.0f} × {sheet.height:.0f} mm"
        raise TooManyDots(f"a sheet of {size} at {dpi} dpi is too large a picture; use {most} dpi at most")
    png = resvg_py.svg_to_bytes(
        svg_string=svg_text(sheet, (str(wide), str(high))),
        dpi=96,
        background="#ffffff",
        skip_system_fonts=True,
        font_files=[str(path) for path in FONT_FILES],
        font_family=FAMILY,
        sans_serif_family=FAMILY,
    )
    return with_dot_size(bytes(png), dpi)


def with_dot_size(png: bytes, dpi: int) -> bytes:
    """The PNG with a pHYs chunk, so that programs place it at its true size."""
    per_metre = round(dpi / 0.0254)
    data = b"pHYs" + struct.pack(">IIB", per_metre, per_metre, 1)
    chunk = struct.pack(">I", len(data) - 4) + data + struct.pack(">I", zlib.crc32(data))
    return png[:_SIGNATURE_AND_HEADER] + chunk + png[_SIGNATURE_AND_HEADER:]
