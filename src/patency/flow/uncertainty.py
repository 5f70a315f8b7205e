"""How far a stage's numbers can be off: every tolerance moved alone, the effects summed in quadrature.

First order. Each bore, rod, opening, the local losses, the roughness and the pump's head are moved to one end of their
tolerance, the whole network is solved again, and the change of every number counts as much upwards as downwards. What
is no tolerance but a lack of knowledge counts only to the side to which it moves a number: the friction between
Reynolds 2000 and 4000, which may be laminar or turbulent, the rod in an annulus, which may lie against the wall, and
the roughness, which may be larger or smaller by the site's factor. The sum in quadrature takes all of them for
independent; holes of one drill, stretches of one pipe, and all losses of one kind move together.
"""

from __future__ import annotations

import math
from enum import Enum
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from patency.errors import PhysicsError
from patency.flow.batch import Scenarios, solve_many
from patency.flow.compiled_network import Geometry
from patency.flow.friction import friction_factor
from patency.flow.kept_open import LEAST_GAP, LEAST_GAP_OVER_ROUGHNESS, MOST_ROUGHNESS
from patency.flow.kernels import LAMINAR_TO, TURBULENT_FROM
from patency.flow.readings import Readings

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from patency.flow.batch import ManyFlows
    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.from_load import LoadNetwork
    from patency.flow.readings import Gauge
    from patency.flow.stage_solution import StageSolution
    from patency.flow.stretches import Stretch

    Floats = NDArray[np.float64]

ECCENTRIC_GAIN = 1.5
"""What a narrow gap passes more when its rod lies off the middle, of the square of the eccentricity e: laminar flow
1 + 1.5 e² times that of the centred rod [-] (handbook limit, from memory, not verified; wider gaps gain less)."""
_LYING_ROD_GAIN = 1.0 + ECCENTRIC_GAIN  # against the wall, e = 1


class Side(Enum):
    """To which side the effect of a change counts."""

    BOTH = "both"
    OWN = "its own"


class Source(Enum):
    """Where a doubt comes from."""

    SIZE = "size"
    LOSS = "loss"
    ROUGHNESS = "roughness"
    PUMP = "pump"
    REGIME = "laminar or turbulent"
    ROD = "where a rod lies"


class Change(NamedTuple):
    """One thing moved."""

    source: Source
    what: str
    """Told by no other thing moved, and the same in every stage."""
    geometry: Geometry
    side: Side
    friction: Floats | None = None
    """Factors that the lengths carry in place of other friction."""
    pump_head_factor: float = 1.0


def bounds(load_network: LoadNetwork, solution: StageSolution, gauge: Gauge) -> tuple[Readings, Readings]:
    """Work out the lower and upper ends of everything that is read off a stage.

    Parameters
    ----------
    load_network
        The load's network.
    solution
        The stage solved at nominal sizes.
    gauge
        What reads solutions.

    Returns
    -------
    tuple[Readings, Readings]
        Lower ends and upper ends.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out within the tolerances.
    """
    changes = list(changes_within_doubts(load_network, solution))
    nominal_sizes = solution.compiled.geometry
    moved_sizes = _moved_sizes(nominal_sizes, changes)
    flows = _solve_moved(solution, changes, moved_sizes)
    sizes = Geometry(*(moved_sizes.get(name, size[np.newaxis]) for name, size in nominal_sizes._asdict().items()))
    unmoved = np.ones(solution.equivalent_reynolds.size)
    friction = np.array([unmoved if change.friction is None else change.friction for change in changes])
    nominal = gauge.read(solution.compiled, solution.flow)
    both = np.array([change.side is Side.BOTH for change in changes])[:, None]
    ends = []
    for values, before in zip(gauge.read_many(solution.compiled, sizes, flows, friction), nominal, strict=True):
        moved = values - before
        down = np.where(both, moved, np.minimum(moved, 0.0))
        up = np.where(both, moved, np.maximum(moved, 0.0))
        ends.append((before - np.sqrt((down**2).sum(axis=0)), before + np.sqrt((up**2).sum(axis=0))))
    return Readings(*(low for low, _ in ends)), Readings(*(high for _, high in ends))


def _moved_sizes(nominal: Geometry, changes: Sequence[Change]) -> dict[str, Any]:
    """Stack the segments' sizes that some change moves, shape (changes, segments) each, by their names."""
    stacked = {}
    for name, size in nominal._asdict().items():
        rows = [getattr(change.geometry, name) for change in changes]
        if any(row is not size for row in rows):
            stacked[name] = np.array(rows)
    return stacked


def solve_changes(solution: StageSolution, changes: Sequence[Change]) -> ManyFlows:
    """Solve a stage with each of many changes.

    Parameters
    ----------
    solution
        The stage solved at nominal sizes.
    changes
        The changes, at least one.

    Returns
    -------
    ManyFlows
        One for each change.

    Raises
    ------
    PhysicsError
        If the pump is driven beyond its run-out within the doubts.
    """
    return _solve_moved(solution, changes, _moved_sizes(solution.compiled.geometry, changes))


def _solve_moved(solution: StageSolution, changes: Sequence[Change], sizes: dict[str, Any]) -> ManyFlows:
    """Solve a stage with each of many changes whose sizes are stacked."""
    factors = np.array([change.pump_head_factor for change in changes])
    scenarios = Scenarios(count=len(changes), pump_head_factor=factors, **sizes)
    flows = solve_many(solution.compiled, scenarios, start=solution.flow)
    if not flows.solved.all():
        raise PhysicsError("pump", "beyond its run-out within the tolerances", "a pump that feeds what is connected")
    return flows


def changes_within_doubts(load_network: LoadNetwork, solution: StageSolution) -> Iterator[Change]:
    """Move one thing after the other to the end of its doubt.

    Parameters
    ----------
    load_network
        The load's network.
    solution
        The stage solved at nominal sizes.

    Yields
    ------
    Change
        Each thing moved.
    """
    yield from _moved_diameters(load_network, solution.compiled)
    yield from _moved_losses(load_network, solution.compiled)
    yield from _moved_roughness(load_network, solution.compiled)
    yield from _moved_pump(load_network, solution.compiled)
    yield from _unknown_regime(solution)
    yield from _lying_rods(solution)


def least_gaps(geometry: Geometry) -> Floats:
    """Say what of each passage stays open whatever its tolerances.

    Parameters
    ----------
    geometry
        The segments.

    Returns
    -------
    NDArray
        Shape (segments,): the least hydraulic diameter [m].
    """
    return np.maximum(LEAST_GAP * geometry.diameter_m, LEAST_GAP_OVER_ROUGHNESS * geometry.roughness_m)


def _rows(load_network: LoadNetwork, compiled: CompiledNetwork) -> list[tuple[str, Stretch]]:
    """List every segment's path and stretch, in the order of rows."""
    return [(name, stretch) for name in compiled.chain_names for stretch in load_network.stretches[name]]


def _moved_diameters(load_network: LoadNetwork, compiled: CompiledNetwork) -> Iterator[Change]:
    parts: dict[object, list[tuple[int, Stretch]]] = {}
    for row, (_, stretch) in enumerate(_rows(load_network, compiled)):
        parts.setdefault(stretch.part or row, []).append((row, stretch))
    geometry = compiled.geometry
    least_gap = least_gaps(geometry)
    for stretches in parts.values():
        if stretches[0][1].diameter_doubt_m > 0.0:
            diameter = geometry.diameter_m.copy()
            for row, stretch in stretches:
                narrowest = geometry.rod_diameter_m[row] + least_gap[row] if geometry.rod_diameter_m[row] else 0.0
                diameter[row] = max(diameter[row] - stretch.diameter_doubt_m, narrowest)
            what = f"width {stretches[0][0]}"
            yield Change(Source.SIZE, what, geometry._replace(diameter_m=diameter), Side.BOTH)
        if stretches[0][1].rod_doubt_m > 0.0:
            rod = geometry.rod_diameter_m.copy()
            for row, stretch in stretches:
                rod[row] = min(rod[row] + stretch.rod_doubt_m, geometry.diameter_m[row] - least_gap[row])
            what = f"rod {stretches[0][0]}"
            yield Change(Source.SIZE, what, geometry._replace(rod_diameter_m=rod), Side.BOTH)


def _moved_losses(load_network: LoadNetwork, compiled: CompiledNetwork) -> Iterator[Change]:
    """Raise all local losses of the machine and its circuits together, then all of the ports' chains."""
    rows = _rows(load_network, compiled)
    doubts = np.array([stretch.loss_doubt for _, stretch in rows])
    shared = np.array([name in load_network.shared for name, _ in rows])
    geometry = compiled.geometry
    opening = geometry.discharge_coefficient > 0.0
    for what, group in (("losses shared", shared), ("losses of chains", ~shared)):
        raised = np.where(group, doubts, 0.0)
        coefficient = np.where(opening, geometry.discharge_coefficient, 1.0)
        lowered = np.where(opening, (coefficient**-2 + raised) ** -0.5, 0.0)
        losses = geometry.minor_loss + np.where(opening, 0.0, raised)
        changed = geometry._replace(minor_loss=losses, discharge_coefficient=lowered)
        yield Change(Source.LOSS, what, changed, Side.BOTH)


def _moved_roughness(load_network: LoadNetwork, compiled: CompiledNetwork) -> Iterator[Change]:
    factor = load_network.roughness_factor
    for what, moved in (("rougher", factor), ("smoother", 1.0 / factor)):
        roughness = np.minimum(compiled.geometry.roughness_m * moved, MOST_ROUGHNESS * compiled.hydraulic_diameter_m)
        yield Change(Source.ROUGHNESS, what, compiled.geometry._replace(roughness_m=roughness), Side.OWN)


def _moved_pump(load_network: LoadNetwork, compiled: CompiledNetwork) -> Iterator[Change]:
    lowered = 1.0 - load_network.pump_doubt
    yield Change(Source.PUMP, "pump", compiled.geometry, Side.BOTH, pump_head_factor=lowered)


def _laminar_factor(reynolds: float, _roughness: float) -> float:
    return 64.0 / reynolds


def _turbulent_factor(reynolds: float, roughness: float) -> float:
    """Friction of turbulent flow below Re 4000: the factor at 4000 carried on with Blasius' power for smooth pipes."""
    blasius = math.pow(reynolds / TURBULENT_FROM, -0.25)
    return friction_factor(TURBULENT_FROM, roughness) * blasius


def _unknown_regime(solution: StageSolution) -> Iterator[Change]:
    """Where the Reynolds number leaves it open: all of a path laminar, all of it turbulent."""
    compiled = solution.compiled
    reynolds, roughness = solution.equivalent_reynolds, compiled.chains.roughness
    unsure = (reynolds > LAMINAR_TO) & (reynolds < TURBULENT_FROM) & (compiled.geometry.length_m > 0.0)
    for first, last in zip(compiled.segment_start, compiled.segment_start[1:], strict=False):
        rows = [row for row in range(first, last) if unsure[row]]
        if not rows:
            continue
        for word, other in (("laminar", _laminar_factor), ("turbulent", _turbulent_factor)):
            ratio = np.ones(reynolds.size)
            for row in rows:
                ratio[row] = other(reynolds[row], roughness[row]) / friction_factor(reynolds[row], roughness[row])
            yield _other_friction(Source.REGIME, f"{word} {first}", compiled, ratio)


def lying_rod_factor(reynolds: float, roughness: float) -> float:
    """Say what share of its friction an annulus keeps when its rod lies against the wall.

    Parameters
    ----------
    reynolds
        Reynolds number that decides about laminar and turbulent flow, with the rod in the middle [-]; 0 where nothing
        flows.
    roughness
        Roughness over the hydraulic diameter [-].

    Returns
    -------
    float
        Friction over that of the centred rod [-]; turbulent flow by the laminar-equivalent Reynolds number, too.
    """
    if reynolds <= 0.0:
        return 1.0 / _LYING_ROD_GAIN
    return friction_factor(_LYING_ROD_GAIN * reynolds, roughness) / friction_factor(reynolds, roughness)


def _lying_rods(solution: StageSolution) -> Iterator[Change]:
    """Each annulus with its rod against the wall."""
    compiled = solution.compiled
    reynolds, roughness = solution.equivalent_reynolds, compiled.chains.roughness
    for row in np.flatnonzero((compiled.geometry.rod_diameter_m > 0.0) & (reynolds > 0.0)):
        ratio = np.ones(reynolds.size)
        ratio[row] = lying_rod_factor(float(reynolds[row]), float(roughness[row]))
        yield _other_friction(Source.ROD, f"lying {row}", compiled, ratio)


def _other_friction(source: Source, what: str, compiled: CompiledNetwork, ratio: Floats) -> Change:
    geometry = compiled.geometry._replace(length_m=compiled.geometry.length_m * ratio)
    return Change(source, what, geometry, Side.OWN, ratio)
