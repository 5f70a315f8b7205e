"""Reads a department from its folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import read_with_places
from patency.errors import InputError, InputErrors

if TYPE_CHECKING:
    from pathlib import Path

    from patency.catalogue import Reading

_ENDINGS = {".yaml", ".yml"}


def read_site(folder: Path) -> Reading:
    """Read the department a folder describes.

    Parameters
    ----------
    folder
        Holds the department's YAML files, also in folders below it; what begins with a dot is left out.

    Returns
    -------
    Reading
        The department and where each of its values stands, files named as seen from the folder.

    Raises
    ------
    InputErrors
        When the folder or a file cannot be read, or with every fault of the description.
    """
    return read_with_places(_texts(folder))


def _texts(folder: Path) -> dict[str, str]:
    if not folder.is_dir():
        what = "not a folder" if folder.exists() else "no such folder"
        raise InputErrors([InputError(str(folder), what, "a folder with the YAML files of a department")])
    texts: dict[str, str] = {}
    faults = []
    for file in _files(folder):
        name = file.relative_to(folder).as_posix()
        try:
            texts[name] = file.read_text(encoding="utf-8-sig")
        except UnicodeDecodeError as error:
            line = error.object[: error.start].count(b"\n") + 1
            faults.append(InputError(f"{name}:{line}", "a character that is not UTF-8", "text saved as UTF-8"))
        except OSError as error:
            faults.append(InputError(name, f"cannot be read: {error.strerror}", "a file that may be read"))
    if not texts and not faults:
        faults.append(InputError(str(folder), "no YAML file in it", "files that end in .yaml or .yml"))
    if faults:
        raise InputErrors(faults)
    return texts


def _files(folder: Path) -> list[Path]:
    found = [file for file in folder.rglob("*") if file.suffix.lower() in _ENDINGS and not file.is_dir()]
    shown = [file for file in found if not any(part[0] == "." for part in file.relative_to(folder).parts)]
    return sorted(shown)
