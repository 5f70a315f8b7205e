"""Values that know on which line they stand."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NamedTuple

from patency.errors import InputError

Scalar = str | int | float | bool | None
Key = str | int
"""A key of a mapping or, from 0, a place in a list."""
Path = tuple[Key, ...]
"""Keys from the outermost in."""


class Finding(NamedTuple):
    """What is wrong at a path, before it is known on which line that is."""

    path: Path
    what: str
    expected: str


@dataclass(frozen=True, slots=True)
class Node:
    """A value and the line it stands on.

    Parameters
    ----------
    value
        A scalar, a list of nodes, or a mapping from text to nodes.
    file
        Name of the file.
    line
        Line of its key, or of itself where it has none; the first is 1.
    size
        How many values it holds, itself included, with every alias written out.
    """

    value: Scalar | list[Node] | dict[str, Node]
    file: str
    line: int
    size: int = 1

    @property
    def place(self) -> str:
        """File and line as people write them."""
        return f"{self.file}:{self.line}"

    @property
    def mapping(self) -> dict[str, Node]:
        """Its entries; none where it is no mapping."""
        return self.value if isinstance(self.value, dict) else {}

    def plain(self) -> object:
        """Return the value alone, in lists and mappings too."""
        if isinstance(self.value, dict):
            return {key: node.plain() for key, node in self.value.items()}
        if isinstance(self.value, list):
            return [node.plain() for node in self.value]
        return self.value

    def below(self, key: Key) -> Node | None:
        """Return what stands under a key; None where nothing does."""
        if isinstance(self.value, dict) and isinstance(key, str):
            return self.value.get(key)
        if isinstance(self.value, list) and isinstance(key, int) and 0 <= key < len(self.value):
            return self.value[key]
        return None

    def nearest(self, path: Path) -> Node:
        """Return what stands at a path, or the nearest thing around where it would stand."""
        node = self
        for key in path:
            inner = node.below(key)
            if inner is None:
                break
            node = inner
        return node

    def fault(self, found: Finding) -> InputError:
        """Say where a finding about this value's inside lies."""
        where = self.nearest(found.path).place
        path = path_text(found.path)
        return InputError(f"{where}: {path}" if path else where, found.what, found.expected)


def path_text(path: Path) -> str:
    """Write a path as people read it.

    Parameters
    ----------
    path
        Keys from the outermost in.

    Returns
    -------
    str
        The path; keys that would be misread are quoted.

    Examples
    --------
    >>> path_text(("instruments", "mod5", "segments", 0, "bore")), path_text(("sets", "a.b", "hold"))
    ('instruments.mod5.segments[0].bore', "sets['a.b'].hold")
    """
    text = ""
    for key in path:
        if isinstance(key, int):
            text += f"[{key}]"
        elif re.fullmatch(r"[^\W_][\w /+-]*", key):
            text += f".{key}" if text else key
        else:
            text += f"[{key!r}]"
    return text
