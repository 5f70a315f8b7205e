"""Computes the water in the loads of a plan, and draws it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from patency.flow import fed, flow_of_load, least_values, pressure_along_manifold, solve_load
from patency.load import pieces_of_set
from patency.papers import LumenBar, plot_lumens, plot_manifold, set_letters
from patency.quantities import Answer
from patency.steps.plan_loads import load_of_plan
from patency.steps.weakest import weakest_lumens

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from patency.catalogue import Department
    from patency.flow import LoadFlow, ManifoldPlace
    from patency.load import Load, Plan, Reply

_WEAKEST_MARKED = 5  # as many as the load sheet says to look at first


@dataclass(frozen=True, slots=True)
class FlowShown:
    """The water in one load.

    Parameters
    ----------
    load
        The load.
    water
        The water in it.
    replies
        Set and piece to the answer whether it is fed.
    bars
        Every connected lumen with its limits, in the order of the carrier's ports.
    stage
        The wet stage with the least circulation pressure.
    manifold
        The pressure along every circuit in that stage.
    """

    load: Load
    water: LoadFlow
    replies: Mapping[tuple[str, str], Reply]
    bars: tuple[LumenBar, ...]
    stage: str
    manifold: Mapping[str, tuple[ManifoldPlace, ...]]

    @property
    def all_fed(self) -> bool:
        """Whether every piece is answered to be fed."""
        return all(reply.answer is Answer.YES for reply in self.replies.values())


def flow_of_plan(
    department: Department, plan: Plan, load_id: str | None = None, on_progress: Callable[[str], None] | None = None
) -> list[FlowShown]:
    """Compute the water in every load of a plan.

    Parameters
    ----------
    department
        The department.
    plan
        The plan; limits have to be in date on its day.
    load_id
        The one load that is asked for; None for all.
    on_progress
        Called with what is being done.

    Returns
    -------
    list[FlowShown]
        One for each load.

    Raises
    ------
    InputError
        If the plan has no such load.
    PhysicsError
        If a pump is driven beyond its run-out.
    """
    loads = plan.loads if load_id is None else (load_of_plan(plan, load_id),)
    shown = []
    for load in loads:
        if on_progress is not None:
            on_progress(f"load {load.id}: flow in every lumen")
        shown.append(flow_shown(department, load, plan.day))
    return shown


def flow_shown(department: Department, load: Load, day: date) -> FlowShown:
    """Compute the water in one load.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    day
        Day on which limits have to be in date.

    Returns
    -------
    FlowShown
        The water, and what the charts of it show.
    """
    water = flow_of_load(department, load)
    replies = fed(department, load, water, day)
    stage = min(water.stages, key=lambda name: water.stages[name].circulation_pa.nominal)
    along = pressure_along_manifold(department.carriers[load.carrier], solve_load(department, load), stage)
    return FlowShown(load, water, replies, lumen_bars(department, load, water, replies, day), stage, along)


def lumen_bars(
    department: Department, load: Load, water: LoadFlow, replies: Mapping[tuple[str, str], Reply], day: date
) -> tuple[LumenBar, ...]:
    """Put every connected lumen beside its limits.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    water
        The water in it.
    replies
        Set and piece to the answer whether it is fed.
    day
        Day on which limits have to be in date.

    Returns
    -------
    tuple[LumenBar, ...]
        In the order of the carrier's ports; those the load sheet says to look at first are marked.
    """
    pieces = {(piece.set, piece.key): piece for name in load.sets for piece in pieces_of_set(department, name)}
    order = list(department.carriers[load.carrier].ports)
    letters, least = set_letters(load), least_values(department, load, water, day)
    weakest = {line.port for line in weakest_lumens(department, load, water, replies, _WEAKEST_MARKED)}
    connected = [(one.port, (placed.set, placed.piece, one.lumen)) for placed in load.pieces for one in placed.lumens]
    bars = []
    for port, key in sorted(connected, key=lambda pair: order.index(pair[0])):
        piece = pieces[key[:2]]
        lumen = f", {key[2]}" if len(piece.lumens) > 1 else ""
        bars.append(
            LumenBar(
                name=f"{piece.words}{lumen} ({letters[key[0]]}) {port}",
                flow_m3_s=water.lumens[key].flow_m3_s,
                shear_pa=water.lumens[key].shear_pa,
                least_flow=least[key].flow_m3_s,
                least_shear=least[key].shear_pa,
                weak=port in weakest,
            )
        )
    return tuple(bars)


def flow_document(plan: Plan, shown: list[FlowShown]) -> dict[str, Any]:
    """Return the water in loads as plain values for JSON.

    Parameters
    ----------
    plan
        The plan.
    shown
        The water in its loads.

    Returns
    -------
    dict
        Format ``patency-load-flow/1``, in SI units.
    """
    return {
        "format": "patency-load-flow/1",
        "site": plan.site,
        "day": plan.day.isoformat(),
        "loads": [_load(one) for one in shown],
    }


def _load(one: FlowShown) -> dict[str, Any]:
    return {
        "id": one.load.id,
        "circulation_pa": {name: asdict(stage.circulation_pa) for name, stage in one.water.stages.items()},
        "lumens": [
            {
                "name": bar.name,
                "flow_m3_s": asdict(bar.flow_m3_s),
                "shear_pa": bar.shear_pa and asdict(bar.shear_pa),
                "least_flow_m3_s": bar.least_flow and asdict(bar.least_flow),
                "least_shear_pa": bar.least_shear and asdict(bar.least_shear),
                "weak": bar.weak,
            }
            for bar in one.bars
        ],
        "fed": [
            {"set": name, "piece": piece, "answer": reply.answer.value, "why": reply.why}
            for (name, piece), reply in one.replies.items()
        ],
        "manifold": {
            "stage": one.stage,
            "circuits": {name: [asdict(place) for place in places] for name, places in one.manifold.items()},
        },
    }


def flow_pictures(shown: list[FlowShown]) -> dict[str, bytes]:
    """Draw the water in each load.

    Parameters
    ----------
    shown
        The water in the loads.

    Returns
    -------
    dict[str, bytes]
        File name to SVG source: the lumens of each load that has any connected, and the pressure along its manifold.
    """
    files = {}
    for one in shown:
        if one.bars:
            files[f"load-{one.load.id}-lumens.svg"] = plot_lumens(one.load.id, set_letters(one.load), one.bars).encode()
        files[f"load-{one.load.id}-manifold.svg"] = plot_manifold(one.load.id, one.stage, one.manifold).encode()
    return files
