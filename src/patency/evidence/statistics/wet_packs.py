"""Where wet packs come from: places and families by the loads they lie in, machines and programmes by whole loads."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.errors import InputError, InputErrors
from patency.evidence.statistics.distributions import found_chances

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

WITHIN = ("position", "family")
"""What differs within a load: compared with the other packs of the same load, so that a wet load blames no place."""
BETWEEN = ("machine", "programme")
"""What a whole load shares: compared by loads with a wet pack, since the packs of one load are not independent."""


@dataclass(frozen=True, slots=True)
class Pack:
    """One pack of a load.

    Parameters
    ----------
    load
        Which load.
    wet
        Whether it was wet.
    traits
        Position, family, machine and programme.
    """

    load: str
    wet: bool
    traits: dict[str, str]


@dataclass(frozen=True, slots=True)
class WetPattern:
    """How often one place, family, machine or programme goes with wet packs.

    Parameters
    ----------
    trait, value
        Which.
    wet, of
        Wet packs of it and all; loads with a wet pack and all for machines and programmes.
    expected
        How many wet ones chance alone would put there.
    chance
        Chance of as many or more if it did not matter, exact.
    adjusted
        The same for all comparisons made together (S. Holm, Scand. J. Statistics 6, 1979, 65-70).
    """

    trait: str
    value: str
    wet: int
    of: int
    expected: float
    chance: float
    adjusted: float


def read_packs(text: str, name: str = "packs") -> list[Pack]:
    """Read packs as a table.

    Parameters
    ----------
    text
        CSV with a header: ``load``, ``wet`` (yes or no), and any of ``position``, ``family``, ``machine`` and
        ``programme``.
    name
        What the text is called in messages.

    Returns
    -------
    list
        In the order of the table.

    Raises
    ------
    InputErrors
        With every fault: ``name:line: column: what (expected: …)``.
    """
    rows = csv.reader(io.StringIO(text), strict=True)
    faults: list[InputError] = []
    packs: list[Pack] = []
    loads: dict[str, dict[str, str]] = {}
    try:
        heads = [head.strip() for head in next(rows, [])]
        known = ("load", "wet", *WITHIN, *BETWEEN)
        wrong = [f"column {head!r}" for head in heads if head not in known or heads.count(head) > 1]
        wrong += [f"no column {head!r}" for head in ("load", "wet") if head not in heads]
        if wrong:
            raise InputErrors([InputError(f"{name}:1", wrong[0], ", ".join(known))])
        for row in rows:
            where = f"{name}:{rows.line_num}"
            cells = dict(zip(heads, (cell.strip() for cell in row), strict=False))
            if len(row) != len(heads) or not all(cells.values()):
                faults.append(InputError(where, "a cell is empty, missing or too many", f"{len(heads)} cells"))
            elif cells["wet"] not in {"yes", "no"}:
                faults.append(InputError(f"{where}: wet", repr(cells["wet"][:20]), "yes or no"))
            else:
                traits = {key: cells[key] for key in (*WITHIN, *BETWEEN) if key in cells}
                packs.append(Pack(cells["load"], cells["wet"] == "yes", traits))
                known_traits = loads.setdefault(cells["load"], traits)
                mixed = [trait for trait in BETWEEN if traits.get(trait) != known_traits.get(trait)]
                if mixed:
                    what = f"load {cells['load']!r} in another {mixed[0]} than above"
                    faults.append(InputError(f"{where}: {mixed[0]}", what, f"one {mixed[0]} for a load"))
    except csv.Error as error:
        faults.append(InputError(f"{name}:{rows.line_num}", f"not a table: {error}", "one line for each pack"))
    if faults or not packs:
        raise InputErrors(faults or [InputError(f"{name}:1", "no pack in it", "at least one row")])
    return packs


def exact_excess(strata: Sequence[tuple[int, int, int]], found: int) -> float:
    """Tell how likely it is to find as many marked pieces or more, stratum by stratum drawn by chance.

    Parameters
    ----------
    strata
        For each stratum its pieces, how many of them are marked, and how many are drawn.
    found
        How many marked ones were drawn in all strata together.

    Returns
    -------
    float
        The chance, exact; with one stratum that of R. A. Fisher (1935), one-sided.
    """
    chances = np.ones(1)
    for pieces, marked, drawn in strata:
        chances = np.convolve(chances, found_chances(pieces, marked, drawn))
    return float(min(1.0, chances[found:].sum()))


def wet_patterns(packs: Sequence[Pack]) -> list[WetPattern]:
    """Compare every place, family, machine and programme with the others.

    Parameters
    ----------
    packs
        The packs.

    Returns
    -------
    list
        The most unlikely first.
    """
    by_load = _grouped(packs, lambda pack: pack.load)
    found: list[WetPattern] = []
    for trait in (*WITHIN, *BETWEEN):
        compare = _within if trait in WITHIN else _between
        values = sorted({pack.traits[trait] for pack in packs if trait in pack.traits})
        found += [compare(by_load, trait, value) for value in values]
    found.sort(key=lambda one: one.chance)
    adjusted, results = 0.0, []
    for place, one in enumerate(found):
        adjusted = min(1.0, max(adjusted, one.chance * (len(found) - place)))
        results.append(WetPattern(one.trait, one.value, one.wet, one.of, one.expected, one.chance, adjusted))
    return results


def _grouped(packs: Sequence[Pack], key: Callable[[Pack], str]) -> list[list[Pack]]:
    return [list(group) for _, group in groupby(sorted(packs, key=key), key=key)]


def _within(by_load: list[list[Pack]], trait: str, value: str) -> WetPattern:
    strata, wet = [], 0
    for load in by_load:
        there = [pack.wet for pack in load if pack.traits[trait] == value]
        strata.append((len(load), sum(pack.wet for pack in load), len(there)))
        wet += sum(there)
    return _pattern(trait, value, strata, wet)


def _between(by_load: list[list[Pack]], trait: str, value: str) -> WetPattern:
    loads = [(load[0].traits[trait] == value, any(pack.wet for pack in load)) for load in by_load]
    stratum = (len(loads), sum(wet for _, wet in loads), sum(there for there, _ in loads))
    return _pattern(trait, value, [stratum], sum(there and wet for there, wet in loads))


def _pattern(trait: str, value: str, strata: list[tuple[int, int, int]], wet: int) -> WetPattern:
    expected = sum(drawn * marked / pieces for pieces, marked, drawn in strata)
    return WetPattern(
        trait, value, wet, sum(drawn for _, _, drawn in strata), expected, exact_excess(strata, wet), adjusted=1.0
    )


def wet_document(patterns: Sequence[WetPattern]) -> dict[str, Any]:
    """Return patterns of wet packs as plain values for JSON, format ``patency-wet-packs/1``.

    Parameters
    ----------
    patterns
        The patterns.

    Returns
    -------
    dict
        Mappings, lists, numbers and text only.
    """
    keys = ("trait", "value", "wet", "of", "expected", "chance", "adjusted")
    return {"format": "patency-wet-packs/1", "patterns": [{key: getattr(one, key) for key in keys} for one in patterns]}
