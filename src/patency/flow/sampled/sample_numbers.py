"""Solve and read the samples of a load, and hold them against its limits."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from patency.flow.batch import Scenarios, solve_many
from patency.flow.machine_code import Kernel
from patency.flow.needs import Measure
from patency.quantities import STANDARD_GRAVITY_M_S2

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from patency.flow.readings import Readings
    from patency.flow.sampled.draws import LoadDraws
    from patency.flow.solved_load import SolvedLoad

    Floats = NDArray[np.float64]

_PIECE = 1250  # samples that one thread takes at a time, which bounds the memory


class SampleNumbers(NamedTuple):
    """What is read of every sample; what has no solution is not-a-number."""

    flow_m3_s: Floats
    """Shape (stages, samples, lumens) [m³/s]."""
    shear_pa: Floats
    """The same shape [Pa]."""
    ratio: Mapping[Measure, Floats]
    """Shape (samples, lumens) for each measure with a limit: what is reached over it in the worst stage [-]."""


def read_samples(
    solved: SolvedLoad,
    limits: Mapping[Measure, Floats],
    draws: LoadDraws,
    threads: int | None,
    kernel: Kernel = Kernel.MACHINE_CODE,
) -> SampleNumbers:
    """Solve and read all samples in every stage.

    Parameters
    ----------
    solved
        The load.
    limits
        What each lumen is held against, shape (lumens,) each.
    draws
        The samples.
    threads
        How many threads work; None leaves it to the machine's number of cores.
    kernel
        How the numbers are worked out.

    Returns
    -------
    SampleNumbers
        The same for any number of threads.
    """
    shape = (len(solved.stages), draws.samples, len(solved.network.lumens))
    held = [measure for measure in Measure if np.isfinite(limits[measure]).any()]
    found = SampleNumbers(np.empty(shape), np.empty(shape), {measure: np.full(shape[1:], np.inf) for measure in held})

    with_pressure = bool({Measure.PRESSURE, Measure.HIGHEST_PRESSURE} & set(held))

    def read_piece(first: int) -> None:
        rows = slice(first, min(first + _PIECE, draws.samples))
        stages = zip(solved.stages.values(), draws.in_stages(rows), strict=True)
        for stage, (solution, drawn) in enumerate(stages):
            sizes: dict[str, Any] = drawn.sizes._asdict()
            factor = drawn.pump_head_factor
            scenarios = Scenarios(count=factor.size, pump_head_factor=factor, **sizes)
            flows = solve_many(solution.compiled, scenarios, start=solution.flow, threads=1, kernel=kernel)
            readings = solved.gauge.read_many(
                solution.compiled, drawn.sizes, flows, drawn.friction, kernel, with_pressure=with_pressure
            )
            found.flow_m3_s[stage, rows], found.shear_pa[stage, rows] = readings.flow_m3_s, readings.shear_pa
            for measure, reached in _ratios(solved, readings, limits, held).items():
                found.ratio[measure][rows] = np.minimum(found.ratio[measure][rows], reached)

    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(read_piece, range(0, draws.samples, _PIECE)))
    return found


def _ratios(
    solved: SolvedLoad, readings: Readings, limits: Mapping[Measure, Floats], held: list[Measure]
) -> dict[Measure, Floats]:
    """Divide what is reached by its limit, the highest pressure the other way round; not-a-number reaches nothing."""
    paths = list(solved.network.lumens.values())
    per_min = np.array([60.0 / path.volume_m3 for path in paths])
    climb = np.array([0.0 if path.jet is None else path.jet.climb_m for path in paths])
    fails = (climb > 0.0) & ~(readings.velocity_m_s**2 / (2.0 * STANDARD_GRAVITY_M_S2) > climb)
    flow = np.where(fails, 0.0, readings.flow_m3_s)  # a jet that does not reach the far end feeds nothing
    reached = {
        Measure.FLOW: flow,
        Measure.VELOCITY: readings.velocity_m_s,
        Measure.SHEAR: readings.shear_pa,
        Measure.PRESSURE: readings.pressure_pa,
        Measure.EXCHANGES: flow * per_min,
    }
    with np.errstate(divide="ignore", invalid="ignore"):
        ratios = {measure: values / limits[measure] for measure, values in reached.items() if measure in held}
        if Measure.HIGHEST_PRESSURE in held:
            ratios[Measure.HIGHEST_PRESSURE] = limits[Measure.HIGHEST_PRESSURE] / readings.pressure_pa
    return {measure: np.where(np.isnan(values), 0.0, values) for measure, values in ratios.items()}
