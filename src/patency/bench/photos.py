"""Pictures of what was found: kept beside the ledger under the digest of their bytes.

A picture is drawn anew, so that what a camera writes into a file (place, owner, time) is not kept; the name it came
with is thrown away.
"""

from __future__ import annotations

import hashlib
import io
import re
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.steps import Photo

if TYPE_CHECKING:
    from pathlib import Path

LARGEST_BYTES = 8_000_000
_KINDS = ("JPEG", "PNG")
_LARGEST_PIXELS = 50_000_000
_KEPT_PX = 2000
_KIND = "image/jpeg"
_NAME = re.compile(r"[0-9a-f]{64}\.jpg")


def keep_photo(folder: Path, sent: bytes) -> Photo:
    """Keep a picture.

    Parameters
    ----------
    folder
        Where pictures are kept; made when needed.
    sent
        The file as it was sent.

    Returns
    -------
    Photo
        Its digest, for the ledger.

    Raises
    ------
    InputError
        When it is too large, or no picture of a kind that is taken.
    """
    if len(sent) > LARGEST_BYTES:
        raise InputError("picture", f"{len(sent)} bytes", f"at most {LARGEST_BYTES} bytes")
    drawn = _drawn_anew(sent)
    photo = Photo(hashlib.sha256(drawn).hexdigest(), _KIND, len(drawn))
    folder.mkdir(exist_ok=True)
    file = folder / f"{photo.sha256}.jpg"
    if not file.exists():
        whole = file.with_suffix(".part")
        whole.write_bytes(drawn)
        whole.replace(file)
    return photo


def _drawn_anew(sent: bytes) -> bytes:
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(sent), formats=_KINDS) as picture:
            if picture.width * picture.height > _LARGEST_PIXELS:
                raise InputError("picture", f"{picture.width} x {picture.height}", f"at most {_LARGEST_PIXELS} pixels")
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as fault:
        raise InputError("picture", "cannot be read", "a JPEG or PNG picture") from fault
    upright.thumbnail((_KEPT_PX, _KEPT_PX))
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)
    drawn = io.BytesIO()
    plain.save(drawn, "JPEG", quality=85)
    return drawn.getvalue()


def read_photo(folder: Path, name: str) -> bytes | None:
    """Read a picture that was kept.

    Parameters
    ----------
    folder
        Where pictures are kept.
    name
        Its digest and ``.jpg``.

    Returns
    -------
    bytes or None
        The picture; None where there is none, or its bytes are not those that were kept.
    """
    file = folder / name
    if not _NAME.fullmatch(name) or not file.is_file():
        return None
    kept = file.read_bytes()
    return kept if hashlib.sha256(kept).hexdigest() == file.stem else None
