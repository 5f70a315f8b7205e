"""Whether a machine drifts: phase times, doses, pressures, speeds and temperatures followed from cycle to cycle."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from patency.errors import InputError
from patency.evidence.criteria import Sense
from patency.evidence.statistics.charts import ewma_chart
from patency.evidence.statistics.grouped import GroupChart

if TYPE_CHECKING:
    from collections.abc import Sequence

_PRESSURE, _SPEED = "circulation pressure", ("speed of ", " for this load")
_UNITS = {"s", "m3", "Pa", "rpm", "degC", "uS/cm", "K"}
_NOT_OF_THE_MACHINE = {"longest gap in the record", "calibration of the sensors"}
_FEWEST = 4  # values from which two can be charted


class _Judged(BaseModel):
    model_config = ConfigDict(frozen=True, extra="ignore", allow_inf_nan=False, use_attribute_docstrings=True)


class JudgedCriterion(_Judged):
    """What is taken from a criterion."""

    name: str
    value: float | None
    unit: str
    limit: float | tuple[float, float] | None = None
    sense: Sense = Sense.NONE
    stage: str | None = None
    sensor: str | None = None


class JudgedStage(_Judged):
    """What is taken from a stage."""

    name: str
    start_s: float
    end_s: float


class JudgedCycle(_Judged):
    """What is taken from the evidence of a cycle; everything else in it is left aside."""

    format: Literal["patency-evidence/1", "patency-steam-evidence/1"]
    started: Annotated[datetime, Field(description="Needed: it says in which order the cycles ran.")]
    machine: str
    programme: str
    record_sha256: str
    stages: tuple[JudgedStage, ...] = ()
    criteria: tuple[JudgedCriterion, ...]


def read_judged(text: str, name: str) -> JudgedCycle:
    """Read the evidence of a cycle, as ``patency evidence judge`` and ``patency evidence steam`` write it.

    Parameters
    ----------
    text
        JSON.
    name
        What the text is called in messages.

    Returns
    -------
    JudgedCycle
        What drift is told by.

    Raises
    ------
    InputError
        When it is no such evidence, or does not say when the cycle started and in which machine.
    """
    try:
        cycle = JudgedCycle.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        expected = "the evidence of a cycle with machine and moment of its start (time in ISO 8601 with offset)"
        raise InputError(f"{name}: {place}" if place else name, first["msg"], expected) from None
    if cycle.started.tzinfo is None:
        raise InputError(f"{name}: started", "a moment without offset", "a moment with its offset")
    return cycle


def drift_charts(cycles: Sequence[JudgedCycle], run_length: float, weight: float) -> list[GroupChart]:
    """Chart everything a machine showed in each programme, from cycle to cycle.

    A circulation pressure is charted by how far it lies from the middle of what was predicted for its load, as a share
    of that, so that another load is no drift.

    Parameters
    ----------
    cycles
        The cycles in any order.
    run_length
        Mean number of cycles until a false alarm of one chart.
    weight
        Weight of the newest cycle in the moving average.

    Returns
    -------
    list
        One chart for each machine, programme and quantity with at least four values; those that signalled first.
    """
    series: dict[tuple[str, str, str], list[tuple[JudgedCycle, float]]] = {}
    for cycle in sorted(cycles, key=lambda one: one.started):
        for (what, unit), value in _shown(cycle).items():
            series.setdefault((f"{cycle.machine}, {cycle.programme}", what, unit), []).append((cycle, value))
    charts = []
    for (group, what, unit), points in series.items():
        if len(points) < _FEWEST:
            continue
        values = tuple(value for _, value in points)
        labels = tuple(cycle.record_sha256[:12] for cycle, _ in points)
        times = tuple(cycle.started.isoformat(timespec="minutes") for cycle, _ in points)
        chart = ewma_chart(values, run_length, weight, _step(unit, values))
        charts.append(GroupChart(what, "machine and programme", group, labels, times, values, unit, chart))
    return sorted(charts, key=lambda one: (not one.chart.signals, one.group, one.result))


def _shown(cycle: JudgedCycle) -> dict[tuple[str, str], float]:
    """List what a cycle showed: quantity with its unit to value."""
    shown = {(f"length of {stage.name}", "s"): stage.end_s - stage.start_s for stage in cycle.stages}
    for one in cycle.criteria:
        if one.value is None or one.unit not in _UNITS or one.name in _NOT_OF_THE_MACHINE:
            continue
        predicted = one.name == _PRESSURE or (one.name.startswith(_SPEED[0]) and one.name.endswith(_SPEED[1]))
        # The stage in which an arm was slowest differs from cycle to cycle; all else is asked of each stage.
        stage = one.stage if predicted or one.unit != "rpm" else None
        of = ", ".join(part for part in (stage, one.sensor) if part)
        name = f"{one.name} ({of})" if of else one.name
        if not predicted:
            shown[name, one.unit] = one.value
        elif isinstance(one.limit, tuple) and sum(one.limit) > 0:
            middle = sum(one.limit) / 2
            shown[f"{name}, against its prediction", "1"] = one.value / middle - 1.0
    return shown


def _step(unit: str, values: tuple[float, ...]) -> float:
    """Say in which steps a quantity comes: times by the sample, all else as finely as a thousandth of it."""
    largest = max(abs(value) for value in values)
    return 1.0 if unit == "s" else 1e-3 if unit == "1" else 1e-3 * largest
