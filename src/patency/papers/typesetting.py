"""Sets a typst template with data as PDF or as pictures of its pages; nothing else here knows typst."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, cast

from patency.papers.fonts import fonts_folder

if TYPE_CHECKING:
    from datetime import datetime
    from importlib.resources.abc import Traversable


def set_pdf(template: Traversable, data: object, timestamp: datetime) -> bytes:
    """Set a template as PDF; the same data and time give the same bytes.

    Parameters
    ----------
    template
        The ``.typ`` file.
    data
        A dataclass; reaches the template as JSON, never as markup.
    timestamp
        Time written into the file.

    Returns
    -------
    bytes
        The PDF, tagged for screen readers (PDF/UA-1: a picture without words for it is an error).
    """
    return _compile(template, data, format="pdf", pdf_standards="ua-1", timestamp=timestamp.replace(microsecond=0))[0]


def set_pictures(template: Traversable, data: object, pixels_per_inch: float) -> list[bytes]:
    """Set a template as PNG pictures, one a page.

    Parameters
    ----------
    template
        The ``.typ`` file.
    data
        A dataclass.
    pixels_per_inch
        Resolution.

    Returns
    -------
    list[bytes]
        PNG files.
    """
    return _compile(template, data, format="png", ppi=pixels_per_inch)


def _compile(template: Traversable, data: object, **options: Any) -> list[bytes]:  # noqa: ANN401 - typst's own options
    import typst

    with fonts_folder() as folder:
        pages = typst.compile(
            template.read_bytes(),
            font_paths=[str(folder)],
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(asdict(cast("Any", data)))},
            **options,
        )
    return [pages] if isinstance(pages, bytes) else list(pages)
