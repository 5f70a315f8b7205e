"""A load's network with everything its faults would open, and many faults of it solved at once.

What developing laminar flow costs, and by how much the flow past a side hole lowers the pressure behind it, is kept as
computed for the load as planned: docs/faults.md says what that leaves out, and how much it is.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow.batch import ManyFlows, Scenarios
from patency.flow.batch.nominal import nominal_of
from patency.flow.batch.solving import Beginning, begin_from, solve_from
from patency.flow.compiled_network import compile_network
from patency.flow.machine_code import Kernel
from patency.flow.network import Annulus, Orifice
from patency.flow.solver import solve_compiled
from patency.flow.uncertainty import lying_rod_factor

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from numpy.typing import NDArray

    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.faults.fault import NetworkChange
    from patency.flow.faults.listing import FaultList
    from patency.flow.network import Segment
    from patency.flow.solver import CompiledFlow
    from patency.flow.stage_solution import StageSolution

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]


class Part(NamedTuple):
    """A network to solve faults in, and where its rows stand in the one with everything faults would open.

    Parameters
    ----------
    compiled
        The network.
    beginning
        What every fault is solved from: its flows as planned, of what is closed about the flow it would have open.
    chains, nodes, outlets
        Rows of the whole network, in the order of this one's.
    segments
        Shape (segments of the whole network,): rows of this one; -1 for what it does not have.
    """

    compiled: CompiledNetwork
    beginning: Beginning
    chains: Integers
    nodes: Integers
    outlets: Integers
    segments: Integers


@dataclass(frozen=True, slots=True)
class FaultStage:
    """One stage of a load as planned, with everything faults would open closed.

    Parameters
    ----------
    compiled
        The network, with the losses of developing flow in the load as planned.
    reynolds
        Shape (segments,): Reynolds numbers that decide about laminar and turbulent flow, as planned; 0 where nothing
        flows [-].
    lying_rod
        Shape (segments,): share of its friction that an annulus keeps with its rod against the wall [-].
    whole
        The network, to solve any fault in.
    as_planned
        The network of the load alone, to solve the faults in that open nothing drawn for faults: it is much smaller.
    """

    compiled: CompiledNetwork
    reynolds: Floats
    lying_rod: Floats
    whole: Part
    as_planned: Part


class ChangeTable(NamedTuple):
    """Changes as arrays, one row for each.

    Parameters
    ----------
    is_open
        Shape (changes, outlets): 1 open, 0 closed.
    speed
        Shape (changes,): factor on the pump's speed [-].
    sizes
        Change, segment, name of a size, and what is added to it.
    lying
        Change and segment of each rod that lies against the wall.
    resized
        Shape (changes,): whether a change touches the sizes of segments.
    """

    is_open: NDArray[np.uint8]
    speed: Floats
    sizes: tuple[tuple[int, int, str, float], ...]
    lying: tuple[tuple[int, int], ...]
    resized: Bools


class FaultNetwork:
    """A load's network with everything its faults would open.

    Parameters
    ----------
    fault_list
        The faults of the load.
    """

    def __init__(self, fault_list: FaultList) -> None:
        self.compiled = compile_network(fault_list.network)
        self._chain = {name: row for row, name in enumerate(self.compiled.chain_names)}
        self._chains = len(self.compiled.chain_names)
        self._first_outlet = self._chains - self.compiled.outlets.is_open.size

    def chain(self, name: str) -> int:
        """Find the row of a link or outlet.

        Parameters
        ----------
        name
            Its name.

        Returns
        -------
        int
            Its row among the chains.
        """
        return self._chain[name]

    def row(self, place: tuple[str, int]) -> int:
        """Find the row of a segment.

        Parameters
        ----------
        place
            Link or outlet, and how many of its segments stand before.

        Returns
        -------
        int
            Its row among the segments.
        """
        return int(self.compiled.segment_start[self._chain[place[0]]]) + place[1]

    def stage(self, solution: StageSolution) -> FaultStage:
        """Take over the numbers of a stage as planned.

        Parameters
        ----------
        solution
            The stage as planned.

        Returns
        -------
        FaultStage
            The same with what faults would open, closed.
        """
        planned, whole = solution.compiled, self.compiled
        losses, reynolds = whole.geometry.minor_loss.copy(), np.zeros(whole.geometry.minor_loss.size)
        elevation, segments = whole.outlets.elevation_m.copy(), np.full(losses.size, -1)
        start = planned.segment_start
        for row, name in enumerate(planned.chain_names):
            here, there = slice(start[row], start[row + 1]), whole.rows(name)
            losses[there] = planned.geometry.minor_loss[here]
            reynolds[there] = solution.equivalent_reynolds[here]
            segments[there] = np.arange(start[row], start[row + 1])
        chains = np.array([self._chain[name] for name in planned.chain_names])
        outlets = chains[len(chains) - planned.outlets.elevation_m.size :] - self._first_outlet
        elevation[outlets] = planned.outlets.elevation_m
        nodes = np.array([whole.node_names.index(name) for name in planned.node_names])
        compiled = whole.with_changes(
            geometry=whole.geometry._replace(minor_loss=losses),
            outlets=whole.outlets._replace(elevation_m=elevation),
            pump=planned.pump,
            water=planned.water,
        )
        lying = np.ones(losses.size)
        for row in np.flatnonzero(whole.geometry.rod_diameter_m).tolist():
            lying[row] = lying_rod_factor(float(reynolds[row]), float(compiled.chains.roughness[row]))
        every = [np.arange(size) for size in (self._chains, len(whole.node_names), elevation.size, losses.size)]
        return FaultStage(
            compiled=compiled,
            reynolds=reynolds,
            lying_rod=lying,
            whole=Part(compiled, _begin(compiled, solve_compiled(compiled)), *every),
            as_planned=Part(planned, _begin(planned, solution.flow), chains, nodes, outlets, segments),
        )

    def table(self, changes: Sequence[NetworkChange]) -> ChangeTable:
        """Write changes as arrays, once for all stages.

        Parameters
        ----------
        changes
            The changes; an empty one leaves the load as planned.

        Returns
        -------
        ChangeTable
            One row for each change.
        """
        nominal = self.compiled.geometry
        is_open = np.tile(self.compiled.outlets.is_open, (len(changes), 1))
        sizes: list[tuple[int, int, str, float]] = []
        lying: list[tuple[int, int]] = []
        for scenario, change in enumerate(changes):
            for names, state in ((change.closes, 0), (change.opens, 1)):
                is_open[scenario, [self._chain[name] - self._first_outlet for name in names]] = state
            for place, segment in change.segments.items():
                row = self.row(place)
                for name, value in _sizes_of(segment).items():
                    added = value - float(getattr(nominal, name)[row])
                    sizes += [(scenario, row, name, added)] if added else []
            lying += [(scenario, self.row(place)) for place in change.lying_rods]
        speed = np.array([change.pump_speed for change in changes])
        resized = np.zeros(len(changes), dtype=bool)
        resized[[*(size[0] for size in sizes), *(rod[0] for rod in lying)]] = True
        return ChangeTable(is_open, speed, tuple(sizes), tuple(lying), resized)

    def solve(self, stage: FaultStage, table: ChangeTable) -> ManyFlows:
        """Solve a stage with each of the changes.

        Parameters
        ----------
        stage
            The stage.
        table
            The changes.

        Returns
        -------
        ManyFlows
            One row for each; what has no solution is a state, not an error.
        """
        count = table.resized.size
        answer = ManyFlows(
            np.zeros((count, self._chains)),
            np.full((count, len(self.compiled.node_names)), np.nan),
            np.empty(count, dtype=np.uint8),
        )
        drawn = np.ones(self.compiled.outlets.is_open.size, dtype=bool)
        drawn[stage.as_planned.outlets] = False
        opens_drawn = table.is_open[:, drawn].any(axis=1)
        # Most faults only open and close; arrays of sizes are written for the others alone.
        parts = ((stage.whole, opens_drawn), (stage.as_planned, ~opens_drawn))
        tasks = [
            (part, np.flatnonzero(in_part & resized))
            for part, in_part in parts
            for resized in (table.resized, ~table.resized)
        ]

        def solve_group(part: Part, group: Integers) -> None:
            found = solve_from(part.beginning, part.compiled, scenarios_of(stage, table, group, part))
            answer.flow_m3_s[np.ix_(group, part.chains)] = found.flow_m3_s
            answer.head_m[np.ix_(group, part.nodes)] = found.head_m
            answer.state[group] = found.state

        with ThreadPoolExecutor() as pool:
            list(pool.map(lambda task: solve_group(*task), (task for task in tasks if task[1].size)))
        answer.flow_m3_s[~answer.solved] = np.nan
        return answer


def _begin(compiled: CompiledNetwork, planned: CompiledFlow) -> Beginning:
    """Put to the flows of a network as planned those that closed outlets would have about, once for all faults."""
    warm = nominal_of(compiled, planned, Kernel.MACHINE_CODE).warm
    start = replace(planned, flow_m3_s=np.concatenate((planned.flow_m3_s[: -warm.size], warm)))
    return begin_from(compiled, start)


def scenarios_of(stage: FaultStage, table: ChangeTable, group: Integers, part: Part) -> Scenarios:
    """Write some changes as scenarios of a stage.

    Parameters
    ----------
    stage
        The stage.
    table
        The changes.
    group
        Which of them.
    part
        The network they are to be solved in.

    Returns
    -------
    Scenarios
        One for each; a field that none of them touches is None.
    """
    compiled = part.compiled
    place = {int(scenario): k for k, scenario in enumerate(group)}
    fields: dict[str, Any] = {}

    def field(name: str) -> Floats:
        if name not in fields:
            fields[name] = np.tile(getattr(compiled.geometry, name), (group.size, 1))
        return np.asarray(fields[name])

    for scenario, row, name, added in table.sizes:
        if scenario in place:
            field(name)[place[scenario], part.segments[row]] += added  # what developing flow adds to a loss stays
    for scenario, row in table.lying:
        if scenario in place:
            field("length_m")[place[scenario], part.segments[row]] *= stage.lying_rod[row]
    if (table.speed[group] != 1.0).any():
        fields["relative_speed"] = compiled.pump.relative_speed * table.speed[group]
    return Scenarios(count=group.size, is_open=table.is_open[np.ix_(group, part.outlets)], **fields)


def _sizes_of(segment: Segment) -> dict[str, float]:
    """Name the sizes of a segment that a fault can change; the rod of an annulus stays."""
    if isinstance(segment, Orifice):
        return {"diameter_m": segment.diameter_m, "discharge_coefficient": segment.discharge_coefficient}
    wide = segment.outer_diameter_m if isinstance(segment, Annulus) else segment.diameter_m
    return {"diameter_m": wide, "roughness_m": segment.roughness_m, "minor_loss": segment.minor_loss}
