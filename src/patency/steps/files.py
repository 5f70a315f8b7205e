"""Reading and writing files: every fault as one line, and nothing half written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


# A cycle of two hours with twenty columns at one sample a second is 1 MB. The whole text is held in memory with its
# cells: at this size about 2 GB (measured).
LARGEST_BYTES = 64 * 2**20
_CUT = "patency evidence cut takes cycles out of a larger one"


def read_text(path: Path) -> str:
    """Read a text file.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    str
        Its text.

    Raises
    ------
    InputError
        When it cannot be read, is larger than 64 MiB or is not UTF-8.
    """
    return as_text(read_bytes(path), str(path))


def read_bytes(path: Path) -> bytes:
    """Read a file as it is.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    bytes
        Its content.

    Raises
    ------
    InputError
        When it cannot be read or is larger than 64 MiB.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            what = f"{size / 2**20:.0f} MiB, which is more than one cycle or plan can hold"
            raise InputError(
                str(path), what, f"at most {LARGEST_BYTES // 2**20} MiB, one cycle or test in a file; {_CUT}"
            )
        return path.read_bytes()
    except OSError as fault:
        raise InputError(str(path), fault.strerror or "cannot be read", "a readable file") from fault


def as_text(content: bytes, name: str) -> str:
    """Read a file's content as text.

    Parameters
    ----------
    content
        The content.
    name
        What it is called in messages.

    Returns
    -------
    str
        Its text, without a byte order mark.

    Raises
    ------
    InputError
        When it is not UTF-8.
    """
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise InputError(name, f"byte {fault.start + 1} is not UTF-8", "text in UTF-8") from fault


def write_all(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a folder, each whole or not at all.

    Parameters
    ----------
    folder
        Made where it does not exist.
    files
        Name, which may begin with the names of folders, to content.

    Returns
    -------
    list[Path]
        The files written, in the order given.

    Raises
    ------
    InputError
        When the folder or a file cannot be written.
    """
    written = []
    try:
        for name, content in files.items():
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            draft = target.with_name(target.name + ".part")
            draft.write_bytes(content)
            draft.replace(target)
            written.append(target)
    except OSError as fault:
        raise InputError(
            str(folder), fault.strerror or "cannot be written", "a folder that can be written to"
        ) from fault
    return written
