"""A photograph of a label, read: small enough to open, one of a few kinds, and never kept."""

from __future__ import annotations

from io import BytesIO

from stockyard.errors import BadInput
from stockyard.tags import read_tag

KINDS = ("JPEG", "PNG", "WEBP")
# A telephone's largest photographs have fewer pixels; what claims more is not opened.
MOST_PIXELS = 64_000_000
# Longest side at which labels are still read.
SIDE = 2400


def tags_in(picture: bytes) -> tuple[str, ...]:
    """Return the tags on a photograph, in the order found.

    Raises:
        BadInput: it is no photograph, too large, or shows no tag that can be read.
    """
    from zxingcpp import read_barcodes

    image = _opened(picture)
    found: dict[str, None] = {}
    for code in read_barcodes(image):
        try:
            found[read_tag(code.text)] = None
        except BadInput:
            continue
    if not found:
        raise BadInput("no label can be read on this photograph: go nearer, hold it level, or type the tag")
    return tuple(found)


def _opened(picture: bytes):  # type: ignore[no-untyped-def]
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(BytesIO(picture), formats=KINDS) as image:
            if image.width * image.height > MOST_PIXELS:
                raise BadInput("this photograph has too many pixels: take it smaller")
            image.draft("L", (SIDE, SIDE))
            image.thumbnail((SIDE, SIDE))
            return image.convert("L")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise BadInput("this is no photograph that can be read: JPEG, PNG or WebP") from None
