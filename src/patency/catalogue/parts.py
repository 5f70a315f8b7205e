"""Every description inside a description, with its path."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from patency.catalogue.fields import Described, written_name

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue.nodes import Path

Part = TypeVar("Part", bound=Described)


def parts(whole: object, kind: type[Part], path: Path = ()) -> Iterator[tuple[Path, Part]]:
    """Find all descriptions of one kind, however deep.

    Parameters
    ----------
    whole
        A description, or a list or mapping of such.
    kind
        The kind wanted.
    path
        Where the whole stands.

    Yields
    ------
    tuple
        Path as it stands in the file, and the description; outer before inner, in the order of the file.
    """
    if isinstance(whole, kind):
        yield path, whole
    if isinstance(whole, Described):
        for field in type(whole).model_fields:
            yield from parts(getattr(whole, field), kind, (*path, written_name(field)))
    elif isinstance(whole, dict):
        for key, inner in whole.items():
            yield from parts(inner, kind, (*path, str(key)))
    elif isinstance(whole, list):
        for place, inner in enumerate(whole):
            yield from parts(inner, kind, (*path, place))
