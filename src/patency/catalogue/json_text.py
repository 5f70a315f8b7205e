"""JSON text read strictly: where it is no JSON, and which keys stand twice, told as people can find them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from patency.catalogue.nodes import path_text
from patency.errors import InputError, InputErrors

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue.nodes import Path


def read_json(text: str, file: str) -> tuple[object, list[InputError]]:
    """Read JSON text.

    Parameters
    ----------
    text
        The text.
    file
        What the text is called in messages.

    Returns
    -------
    tuple
        Its mappings, lists and values, and a fault for each key that stands twice in one mapping; the last counts.

    Raises
    ------
    InputErrors
        When it is not JSON, with line and column, or nested too deep, or has a number too long.

    Examples
    --------
    >>> data, faults = read_json('{"a": [{"b": 1, "b": 2}]}', "lab.json")
    >>> data, [fault.line for fault in faults]
    ({'a': [{'b': 2}]}, ['lab.json: a[0].b: the key stands twice (expected: every key once)'])
    """
    try:
        data = json.loads(text, object_pairs_hook=_Object)
        twice = [f"{file}: {path_text(path)}" for path in _twice(data)]
    except json.JSONDecodeError as error:
        where = f"{file}:{error.lineno}:{error.colno}"
        raise InputErrors([InputError(where, f"not JSON: {error.msg}", "JSON text")]) from None
    except (ValueError, RecursionError):
        what = "JSON that cannot be read: nested too deep or a number too long"
        raise InputErrors([InputError(file, what, "mappings, lists and numbers of usual size")]) from None
    return data, [InputError(where, "the key stands twice", "every key once") for where in twice]


class _Object(dict[str, Any]):
    """A JSON object that remembers which keys stood in it more than once."""

    def __init__(self, pairs: list[tuple[str, Any]]) -> None:
        super().__init__(pairs)
        names = [name for name, _ in pairs]
        self.twice = sorted({name for name in names if names.count(name) > 1}) if len(self) < len(names) else []


def _twice(data: object, path: Path = ()) -> Iterator[Path]:
    if isinstance(data, _Object):
        yield from ((*path, name) for name in data.twice)
        for name, inner in data.items():
            yield from _twice(inner, (*path, name))
    elif isinstance(data, list):
        for place, inner in enumerate(data):
            yield from _twice(inner, (*path, place))
