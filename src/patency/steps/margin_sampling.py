"""Draws what is not known of the loads of a plan, and counts how often lumens fall short."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.flow import sampled_margin
from patency.steps.load_planning import read_planned
from patency.steps.plan_loads import load_of_plan
from patency.texts import people_flow, people_shear

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    from patency.flow import LoadMargin, LumenMargin


@dataclass(frozen=True, slots=True)
class MarginCheck:
    """How likely the lumens of a plan's loads fall short.

    Parameters
    ----------
    site
        Name of the place.
    day
        Day on which reference loads have to be in date.
    seed
        What the random numbers were made from.
    loads
        Each load asked about, by its id.
    """

    site: str
    day: date
    seed: int
    loads: Mapping[str, LoadMargin]

    def all_within(self, share: float) -> bool:
        """Say whether no lumen falls short more often than a share, and every one is known.

        Parameters
        ----------
        share
            Share of samples that may fall short [-].

        Returns
        -------
        bool
            True if so.
        """
        return all(
            lumen.short_share is not None and lumen.short_share <= share and not (lumen.not_known or lumen.left_open)
            for load in self.loads.values()
            for lumen in load.lumens
        )

    @property
    def data(self) -> dict[str, Any]:
        """The same for programs, in SI units."""
        return {
            "format": "patency-margin/1",
            "site": self.site,
            "day": self.day.isoformat(),
            "seed": self.seed,
            "loads": [
                {"id": load_id, "samples": load.samples, "lumens": [_lumen_data(lumen) for lumen in load.lumens]}
                for load_id, load in self.loads.items()
            ],
        }


def sample_margins(
    plan: Path, folder: Path, load_id: str | None, on: date | None, *, samples: int, seed: int
) -> MarginCheck:
    """Sample the loads of a plan file.

    Parameters
    ----------
    plan
        A file of format ``patency-plan/1``.
    folder
        Holds the YAML files of the department the plan is for.
    load_id
        Which load alone; None for all.
    on
        Day on which reference loads have to be in date; None for the plan's own day.
    samples
        How many samples of each load.
    seed
        What the random numbers are made from; every load begins anew from it.

    Returns
    -------
    MarginCheck
        Every lumen's margin.

    Raises
    ------
    InputError
        When the plan cannot be read, is for another site or has no such load, or there are too few samples.
    InputErrors
        With every fault of the plan or the department.
    PhysicsError
        If a pump is driven beyond its run-out.
    """
    department, read = read_planned(plan, folder)
    loads = read.loads if load_id is None else (load_of_plan(read, load_id),)
    day = on or read.day
    margins = {load.id: sampled_margin(department, load, day, np.random.default_rng(seed), samples) for load in loads}
    return MarginCheck(read.site, day, seed, margins)


def margin_words(lumen: LumenMargin) -> str:
    """Say in one line how likely a lumen falls short.

    Parameters
    ----------
    lumen
        The lumen's margin.

    Returns
    -------
    str
        Probability, what limits, flow and shear.
    """
    flow = _range(people_flow(lumen.flow_m3_s.low), people_flow(lumen.flow_m3_s.high))
    shear = "shear not known over a nozzle"
    if lumen.shear_pa is not None:
        shear = f"shear {_range(people_shear(lumen.shear_pa.low), people_shear(lumen.shear_pa.high))}"
    numbers = f"{lumen.stage}: flow {flow}, {shear}"
    name = ", ".join(lumen.key)
    unknown = f"; left open: {'; '.join(lumen.left_open)}" if lumen.left_open else ""
    if lumen.short_share is None or lumen.short_at_most is None or lumen.margin is None:
        return f"{name}: held against nothing that is known{unknown}; {numbers}"
    share, at_most = (f"{one * 100:.2f} %" for one in (lumen.short_share, lumen.short_at_most))
    falls = f"falls short in {share} of samples (probability at most {at_most})"
    return f"{name}: {falls}, limited by {lumen.limiting}, margin {lumen.margin:.2f}{unknown}; {numbers}"


def _range(low: str, high: str) -> str:
    return f"{low.split(maxsplit=1)[0]}–{high}"


def _lumen_data(lumen: LumenMargin) -> dict[str, Any]:
    data = asdict(lumen)
    set_name, piece, name = data.pop("key")
    return {"set": set_name, "piece": piece, "lumen": name, **data}
