"""The typeface of all papers: Atkinson Hyperlegible Next, drawn for tired eyes (SIL Open Font License, see OFL.txt)."""

from __future__ import annotations

from importlib import resources
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from contextlib import AbstractContextManager
    from pathlib import Path


def fonts_folder() -> AbstractContextManager[Path]:
    """Give the folder with the font files for as long as it is needed.

    Returns
    -------
    AbstractContextManager[Path]
        The folder, also where the package lies in an archive.
    """
    return resources.as_file(resources.files(__name__))
