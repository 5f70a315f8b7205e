"""Reads baselines of earlier cycles that are kept, and finds the one that belongs to a load."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from patency.errors import InputError
from patency.evidence import read_baseline
from patency.flow import Baseline
from patency.load import load_kind
from patency.steps.files import read_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from patency.evidence import BaselineFile
    from patency.load import Load


def baseline_of(kept: BaselineFile) -> Baseline:
    """Turn what is kept into what readings can be held against.

    Parameters
    ----------
    kept
        The file's content.

    Returns
    -------
    Baseline
        The same as numbers.
    """
    columns = tuple((one.stage, one.sensor) for one in kept.columns)
    readings = np.array([cycle.readings for cycle in kept.cycles]).reshape(len(kept.cycles), len(columns))
    return Baseline(kept.machine, columns, readings, tuple(cycle.record for cycle in kept.cycles))


def read_baselines(paths: Iterable[Path]) -> list[BaselineFile]:
    """Read files in which baselines are kept.

    Parameters
    ----------
    paths
        The files.

    Returns
    -------
    list[BaselineFile]
        Their content.

    Raises
    ------
    InputErrors
        With every fault of the first file that has one.
    """
    return [read_baseline(read_text(path), str(path)) for path in paths]


def baseline_for(load: Load, kept: Sequence[BaselineFile]) -> Baseline | None:
    """Find the baseline of a load in the machine it was planned for.

    Parameters
    ----------
    load
        The load.
    kept
        Every baseline there is.

    Returns
    -------
    Baseline | None
        The one with most cycles; None where there is none, which is the worst case.
    """
    kind = load_kind(load)
    fitting = [one for one in kept if (one.load_kind, one.machine) == (kind, load.machine)]
    return baseline_of(max(fitting, key=lambda one: len(one.cycles))) if fitting else None


def baseline_of_record(load: Load, kept: BaselineFile) -> Baseline:
    """Take the baseline that was named for one load's record.

    Parameters
    ----------
    load
        The load.
    kept
        The baseline.

    Returns
    -------
    Baseline
        The same as numbers.

    Raises
    ------
    InputError
        When it is of another kind of load.
    """
    if kept.load_kind != load_kind(load):
        what = f"it is of another kind of load (of {kept.carrier}, {kept.programme}) than load {load.id}"
        raise InputError("baseline", what, "one of the same lumens on the same ports, capped and open alike")
    return baseline_of(kept)
