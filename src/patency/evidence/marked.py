"""YAML text as plain values, with the line of every key path kept beside them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import yaml
from yaml.constructor import ConstructorError
from yaml.events import AliasEvent
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from patency.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

_EXPECTED = "plain YAML: keys with values, lists, no anchors and no tags of its own"
KeyPath = tuple[str | int, ...]


@dataclass(slots=True)
class Marked:
    """Plain values and where each stood.

    Parameters
    ----------
    name
        What the text is called in messages, such as a file's name.
    values
        Mappings, lists and scalars as YAML gives them; keys are always text.
    lines
        Line of each key path, counted from 1.
    """

    name: str
    values: object = None
    lines: dict[KeyPath, int] = field(default_factory=dict)

    def line_of(self, path: Sequence[str | int]) -> int:
        """Return the line of a key path, or of the nearest thing around it.

        Parameters
        ----------
        path
            Keys and list positions from the top.

        Returns
        -------
        int
            Counted from 1.
        """
        known = tuple(path)
        while known and known not in self.lines:
            known = known[:-1]
        return self.lines.get(known, 1)

    def place(self, path: Sequence[str | int]) -> str:
        """Say where a key path stands, or where the nearest thing around it stands.

        Parameters
        ----------
        path
            Keys and list positions from the top.

        Returns
        -------
        str
            Such as ``record.yaml, line 7, columns.T1.unit``.
        """
        line = f"{self.name}, line {self.line_of(path)}"
        return f"{line}, {'.'.join(str(part) for part in path)}" if path else line


class _Loader(yaml.SafeLoader):
    """Refuses aliases: a few lines of them can stand for millions of values."""

    def compose_node(self, parent: Node | None, index: int) -> Node | None:
        """Compose as the library does, aliases excepted."""
        if self.check_event(AliasEvent):
            raise ConstructorError(None, None, "an alias", self.get_mark())
        return super().compose_node(parent, index)


def read_marked(text: str, name: str) -> Marked:
    """Read YAML text and remember the line of everything in it.

    Parameters
    ----------
    text
        The YAML text.
    name
        What the text is called in messages.

    Returns
    -------
    Marked
        The values with their lines.

    Raises
    ------
    InputError
        When the text is not plain YAML, or a key stands twice.
    """
    marked = Marked(name)
    try:
        loader = _Loader(text)
        node = loader.get_single_node()
        if node is not None:
            marked.values = _plain(loader, node, (), marked)
    except yaml.MarkedYAMLError as fault:
        mark = fault.problem_mark or fault.context_mark
        place = f"{name}, line {mark.line + 1}, column {mark.column + 1}" if mark else name
        raise InputError(place, f"not readable as YAML: {fault.problem}", _EXPECTED) from None
    except yaml.YAMLError as fault:
        raise InputError(name, f"not readable as YAML: {str(fault).splitlines()[0]}", _EXPECTED) from None
    except RecursionError:
        raise InputError(name, "nested too deeply", _EXPECTED) from None
    return marked


def _plain(loader: _Loader, node: Node, path: KeyPath, marked: Marked) -> object:
    marked.lines.setdefault(path, node.start_mark.line + 1)
    if isinstance(node, MappingNode):
        return _mapping(loader, node, path, marked)
    if isinstance(node, SequenceNode):
        return [_plain(loader, item, (*path, place), marked) for place, item in enumerate(node.value)]
    try:
        return loader.construct_object(node)
    except ValueError as fault:  # a date such as 2026-13-45, a number with too many digits
        raise InputError(marked.place(path), f"{node.value[:40]!r} is not a value: {fault}") from None


def _mapping(loader: _Loader, node: MappingNode, path: KeyPath, marked: Marked) -> dict[str, object]:
    values: dict[str, object] = {}
    for key, value in node.value:
        line = key.start_mark.line + 1
        if not isinstance(key, ScalarNode):
            raise InputError(marked.place(path), "a key that is not a word", _EXPECTED)
        if key.value in values:
            first = marked.lines[*path, key.value]
            place = f"{marked.name}, line {line}, {'.'.join(str(part) for part in (*path, key.value))}"
            raise InputError(place, f"key stands twice, first in line {first}", "each key once")
        marked.lines[*path, key.value] = line
        values[key.value] = _plain(loader, value, (*path, key.value), marked)
    return values
