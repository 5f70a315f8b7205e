"""Pictures of what was found: kept beside the ledger under the digest of their bytes.

A picture is drawn anew, so that what a camera writes into a file (place, owner, time) is not kept; the name it came
with is thrown away.
"""

from __future__ import annotations

import hashlib
import io
import os
import re
import secrets
from typing import TYPE_CHECKING

from patency.errors import InputError, StoreError
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
    StoreError
        When it could not be written.
    """
    if len(sent) > LARGEST_BYTES:
        raise InputError("picture", f"{len(sent)} bytes", f"at most {LARGEST_BYTES} bytes")
    drawn = _drawn_anew(sent)
    photo = Photo(hashlib.sha256(drawn).hexdigest(), _KIND, len(drawn))
    file = folder / f"{photo.sha256}.jpg"
    if read_photo(folder, file.name) is None:
        _write(file, drawn)
    return photo


def _write(file: Path, drawn: bytes) -> None:
    """Write a picture whole or not at all; when it returns, it is on the disk, before the event that names it is."""
    draft = file.with_name(f"{file.name}.{secrets.token_hex(8)}.part")  # two may send the same picture at once
    try:
        file.parent.mkdir(exist_ok=True)
        with draft.open("wb") as written:
            written.write(drawn)
            written.flush()
            os.fsync(written.fileno())
        draft.replace(file)
    except OSError as fault:
        raise StoreError(str(file.parent), fault.strerror or "cannot be written", "a folder to write to") from fault


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
