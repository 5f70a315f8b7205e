"""What the stages of a programme are called, so that no two of them are called the same."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patency.catalogue import Programme


def stage_calls(programme: Programme) -> tuple[str, ...]:
    """Return what each stage is called: its name, with a number behind it where the name comes again, from 2 on.

    Wet stages are counted first, because a prediction of pressures names its stages the same way and has no others.

    Parameters
    ----------
    programme
        The programme.

    Returns
    -------
    tuple
        One for each stage, in the order of the programme.

    Examples
    --------
    >>> from patency.catalogue import Programme
    >>> rinse = {"name": "rinse", "kind": "rinse", "hold": "60 s", "temperature": "20 °C"}
    >>> programme = {"name": "p", "version": "1", "for_lumens": True, "stages": [rinse, rinse]}
    >>> stage_calls(Programme.model_validate(programme))
    ('rinse', 'rinse 2')
    """
    return _calls(tuple((stage.name, stage.kind.wet) for stage in programme.stages))


@lru_cache(maxsize=256)
def _calls(stages: tuple[tuple[str, bool], ...]) -> tuple[str, ...]:
    calls = [name for name, _ in stages]
    seen: dict[str, int] = {}
    for position, (name, _) in sorted(enumerate(stages), key=lambda item: not item[1][1]):
        again = seen.get(name, 0)
        seen[name] = again + 1
        if again:
            calls[position] = f"{name} {again + 1}"
    return tuple(calls)
