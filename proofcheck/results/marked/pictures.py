"""The picture of a sheet as it is embedded in a PDF: small, and nothing lost that can be read."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.results.marked.own_pictures import open_own

if TYPE_CHECKING:
    import pikepdf

    from proofcheck.base.values import Grey

__all__ = ["embed_picture"]

_BETWEEN = (40, 215)
_BILEVEL_SHARE = 0.004
"""With fewer pixels than this between black and white a sheet is a bilevel scan."""
_JPEG_QUALITY = 72
"""Rings round letters don't show at 300 dpi; common practice for grey text."""
_ROWS_PER_STRIP = 278
_STRIP_OFFSETS, _STRIP_BYTES, _PHOTOMETRIC = 273, 279, 262


def embed_picture(pdf: pikepdf.Pdf, image: Grey) -> pikepdf.Stream:
    """The sheet as an image of the PDF: Group 4 fax where it is bilevel, JPEG where it is grey."""
    import pikepdf

    height, width = image.shape
    stream = pdf.make_stream(b"")
    if _is_bilevel(image):
        data, white_is_zero = _fax(image)
        stream.write(
            data,
            filter=pikepdf.Name.CCITTFaxDecode,
            decode_parms=pikepdf.Dictionary(
                K=-1, Columns=width, Rows=height, BlackIs1=not white_is_zero
            ),
        )
        stream.BitsPerComponent = 1
    else:
        _, packed = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
        stream.write(packed.tobytes(), filter=pikepdf.Name.DCTDecode)
        stream.BitsPerComponent = 8
    stream.Type, stream.Subtype = pikepdf.Name.XObject, pikepdf.Name.Image
    stream.Width, stream.Height = width, height
    stream.ColorSpace = pikepdf.Name.DeviceGray
    return stream


def _is_bilevel(image: Grey) -> bool:
    some = image[::3, ::3]
    between = (some > _BETWEEN[0]) & (some < _BETWEEN[1])
    return float(between.mean()) < _BILEVEL_SHARE


def _fax(image: Grey) -> tuple[bytes, bool]:
    """CCITT Group 4 data of the sheet in one strip, and whether it codes ink as black runs."""
    from PIL import Image
    from PIL.TiffImagePlugin import TiffImageFile

    out = io.BytesIO()
    # Bytes throughout: a large sheet in whole numbers of eight bytes is gigabytes.
    black_white = Image.fromarray(np.where(image < 128, np.uint8(0), np.uint8(255)))
    # There is nothing between to be spread over neighbours, and looking for it takes long.
    bilevel = black_white.convert("1", dither=Image.Dither.NONE)
    strips = {_ROWS_PER_STRIP: image.shape[0]}
    # By its own module: of a bare name all formats there are would be opened first.
    bilevel.save(out, TiffImageFile.format, compression="group4", tiffinfo=strips)
    data = out.getvalue()
    with open_own(out) as tiff:
        tags = tiff.tag_v2  # type: ignore[attr-defined]
        start, size = tags[_STRIP_OFFSETS][0], tags[_STRIP_BYTES][0]
        white_is_zero = tags[_PHOTOMETRIC] == 0
    return data[start : start + size], white_is_zero
