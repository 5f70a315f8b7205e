"""A load file as the files people keep: on paper, as a page and as data."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from patency.papers import load_file_html, load_file_pdf

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from patency.papers import LoadFile


def load_file_as_files(file: LoadFile, kind: str, document: Mapping[str, Any], printed: datetime) -> dict[str, bytes]:
    """Set a load file on paper, as a page and as data.

    Parameters
    ----------
    file
        The load file as people read it.
    kind
        Begins the names of the files: ``load`` or ``steam``.
    document
        The evidence behind it as data.
    printed
        When, with its zone.

    Returns
    -------
    dict[str, bytes]
        File name to content.
    """
    name = f"{kind}-{file.load_id}-file"
    return {
        f"{name}.pdf": load_file_pdf(file, printed),
        f"{name}.html": load_file_html(file).encode(),
        f"{name}.json": json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False).encode(),
    }
