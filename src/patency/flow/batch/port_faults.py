"""Thousands of port faults of one network: only which outlets are open differs, so all else is worked out once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from patency.flow import machine_code
from patency.flow.batch import table_filling, table_kernels
from patency.flow.batch.many_flows import ManyFlows
from patency.flow.batch.scenarios import Scenarios, check_shapes
from patency.flow.batch.solving import solve_many
from patency.flow.batch.table_kernels import OUTSIDE, WORD, Hanging, Known, Tables
from patency.flow.machine_code import Kernel
from patency.flow.solver import solve_compiled

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from patency.flow.compiled_network import CompiledNetwork
    from patency.flow.kernels import Tree

    Floats = NDArray[np.float64]

_KNOTS = 2049
_REACH = 3.2  # how far tables reach, over how far any single change of an outlet moves a head or a flow
_LITTLE = 1e-3  # and beyond that, m
_PIECE = 2048  # scenarios that one thread takes at a time
_INNER = (
    table_kernels.interpolate,
    table_filling.carry_on,
    table_filling.one_chain,
    table_filling.fill_outlets,
    table_filling.fill_links,
    table_filling.fill_subtrees,
    table_filling.fill_tables,
    table_kernels.find_changed,
    table_kernels.find_path,
    table_kernels.begin_path,
    table_kernels.look_up,
    table_kernels.fold_path,
    table_kernels.move_path,
    table_kernels.settle_path,
    table_kernels.read_all,
    table_kernels.solve_faults,
)


class PortFaults:
    """A network made ready for scenarios that differ in which outlets are open, and in nothing else.

    Every outlet changed alone is solved once. What each outlet and each part of the tree takes at the head of the node
    it hangs on, and what each link loses at its flow, is tabulated with cubics between 2049 knots; of more changes
    together Newton's method then finds the heads between the pump and the changed outlets, and all else is read off.
    Answers agree with single solves within 1e-6 of a flow where a segment passes Reynolds 2000 or 4000 between two
    knots, else within about 1e-10. Scenarios that leave the tables are solved by `solve_many`, and so are all where the
    network has loops or open outlets that stay dry.

    Parameters
    ----------
    compiled
        The network.
    kernel
        How the numbers are worked out.

    Raises
    ------
    PhysicsError
        If the network as compiled has no solution.
    """

    def __init__(self, compiled: CompiledNetwork, kernel: Kernel = Kernel.MACHINE_CODE) -> None:
        self._compiled = compiled
        self._kernel = kernel
        self._start = solve_compiled(compiled, kernel=kernel)
        self._tables = self._tabulate()

    @property
    def tabulated(self) -> bool:
        """Whether tables could be made."""
        return self._tables is not None

    def _tabulate(self) -> tuple[Hanging, Tables, Known] | None:
        compiled, head = self._compiled, self._start.head_m
        tree, nodes, outlets = compiled.tree, compiled.tree.parent.size, compiled.tree.outlet_node.size
        elevation, is_open = compiled.outlets.elevation_m, compiled.outlets.is_open
        usable = elevation < head[tree.outlet_node] - _LITTLE
        if tree.chord_from.size or (is_open > usable).any():
            return None
        level = np.full(nodes, -np.inf)
        np.maximum.at(level, tree.outlet_node[usable], elevation[usable])
        level = np.where(np.isfinite(level), level, head.min() - 1.0)
        # Each change of one outlet alone; behind them stands the network as compiled.
        alone = np.vstack((np.eye(outlets, dtype=bool), np.zeros((1, outlets), dtype=bool)))
        scenarios = Scenarios(count=outlets + 1, is_open=is_open != alone)
        single = solve_many(compiled, scenarios, start=self._start, kernel=self._kernel)
        most = np.nan_to_num(np.abs(single.flow_m3_s[:, :nodes]), nan=0.0).max(axis=0)
        heads = np.where(single.solved[:, np.newaxis], single.head_m, head)
        highest = head + _REACH * (heads.max(axis=0) - head) + _LITTLE
        lowest = np.maximum(head - _REACH * (head - heads.min(axis=0)) - _LITTLE, level + 0.01 * (head - level))
        roots = np.sqrt(lowest - level), np.sqrt(highest - level)
        first_flow = self._start.flow_m3_s[:nodes]
        reach = first_flow + _REACH * np.maximum(most - first_flow, 0.0) + 1e-9
        shape = (nodes, _KNOTS, 2)
        tables = Tables(
            outlet=np.zeros((outlets, _KNOTS, 2)),
            whole=np.zeros(shape),
            taken=np.zeros(shape),
            below=np.zeros(shape),
            link=np.zeros(shape),
            level=level,
            lowest=roots[0],
            per_place=(roots[1] - roots[0]) / (_KNOTS - 1),
            per_flow=(_KNOTS - 1) / reach,
            usable=usable.astype(np.uint8),
        )
        fill_tables, _ = _kernels(self._kernel)
        usual_flow = compiled.chains.usual_flow[nodes:].copy()
        if not fill_tables(compiled.chains, tree, compiled.ends, tables, usual_flow):
            return None
        places = (np.sqrt(np.maximum(heads - level, 0.0)) - tables.lowest) / tables.per_place
        places[:-1] -= places[-1]
        return _hanging(tree), tables, Known(single.flow_m3_s, single.head_m, places, single.solved.astype(np.uint8))

    def solve(self, is_open: NDArray[Any], *, threads: int | None = None) -> ManyFlows:
        """Find the flows of many scenarios.

        Parameters
        ----------
        is_open
            Shape (scenarios, outlets): 1 or True open, 0 or False closed.
        threads
            How many threads work; None leaves it to the machine's number of cores.

        Returns
        -------
        ManyFlows
            As of `solve_many`.

        Raises
        ------
        InputError
            If the array has another shape.
        """
        compiled = self._compiled
        scenarios = Scenarios(count=len(is_open), is_open=is_open)
        check_shapes(compiled, scenarios)
        if self._tables is None:
            return solve_many(compiled, scenarios, start=self._start, threads=threads, kernel=self._kernel)
        outlets = compiled.outlets.is_open.size
        differs = np.zeros((scenarios.count, -(-outlets // WORD) * WORD), dtype=np.uint8)
        np.not_equal(is_open != 0, compiled.outlets.is_open != 0, out=differs[:, :outlets].view(bool))
        words = differs.view(np.uint64)
        answer = ManyFlows(
            np.empty((scenarios.count, len(compiled.chain_names))),
            np.empty((scenarios.count, len(compiled.node_names))),
            np.empty(scenarios.count, dtype=np.uint8),
        )
        _, find = _kernels(self._kernel)
        most = compiled.run_out_m3_s
        hanging, tables, known = self._tables

        def solve_piece(first: int) -> None:
            rows = slice(first, first + _PIECE)
            found = answer.flow_m3_s[rows], answer.head_m[rows], answer.state[rows]
            find(hanging, compiled.ends, tables, known, most, differs[rows], words[rows], *found)

        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(solve_piece, range(0, scenarios.count, _PIECE)))
        self._settle(answer, is_open, threads)
        return answer

    def _settle(self, answer: ManyFlows, is_open: NDArray[Any], threads: int | None) -> None:
        """Solve by other means what left the tables, or the pump's curve."""
        rows = np.flatnonzero(answer.state == OUTSIDE)
        if rows.size:
            others = Scenarios(count=rows.size, is_open=is_open[rows])
            found = solve_many(self._compiled, others, start=self._start, threads=threads, kernel=self._kernel)
            answer.flow_m3_s[rows], answer.head_m[rows] = found.flow_m3_s, found.head_m
            answer.state[rows] = found.state


def _hanging(tree: Tree) -> Hanging:
    """Write how a network hangs together with unsigned places."""
    order = np.argsort(tree.outlet_node, kind="stable")
    first = np.searchsorted(tree.outlet_node[order], np.arange(tree.parent.size + 1))
    rows = np.maximum(tree.parent, 0), tree.outlet_node, first, order
    return Hanging(*(np.ascontiguousarray(row, dtype=np.uint64) for row in rows))


def _kernels(kernel: Kernel) -> tuple[Callable[..., Any], Callable[..., Any]]:
    if kernel is Kernel.INTERPRETED:
        return table_filling.fill_tables, table_kernels.solve_faults
    return _compiled()


@cache
def _compiled() -> tuple[Callable[..., Any], Callable[..., Any]]:
    stamp = machine_code.stamp(table_kernels, table_filling)

    def fill_tables(chains, tree, ends, tables, start):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        return stamp >= 0 and table_filling.fill_tables(chains, tree, ends, tables, start)

    def solve_faults(hanging, ends, tables, known, most, differs, words, flows, heads, states):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        if stamp >= 0:
            table_kernels.solve_faults(hanging, ends, tables, known, most, differs, words, flows, heads, states)

    first, second = (machine_code.compiled_for_threads(entry, _INNER) for entry in (fill_tables, solve_faults))
    return first, second
