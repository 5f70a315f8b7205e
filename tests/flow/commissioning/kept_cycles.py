"""Kept cycles of the small department, drawn from a known truth. All of it is invented."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from patency.flow import Baseline
from patency.flow.commissioning.cycles import CyclesModel, KeptCycles
from patency.flow.commissioning.parameters import described_parameters
from tests.small_plan import LOAD
from tests.small_site import small_department

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.flow.commissioning.parameters import Factors
    from patency.load import Load

STAGES = ("first rinse", "cleaning", "rinse", "disinfection")
FIRST_DAY = date(2026, 3, 2)


def kept(
    readings: np.ndarray, load: Load = LOAD, *, machine: str = "Alpha", first: int = 0, stages: tuple[str, ...] = STAGES
) -> KeptCycles:
    """Cycles with these pressures, shape (cycles, stages) [Pa], one each day."""
    records = tuple(f"{first + number:064x}" for number in range(len(readings)))
    days = tuple(FIRST_DAY + timedelta(days=number) for number in range(len(readings)))
    return KeptCycles(load, Baseline(machine, tuple((stage, "P1") for stage in stages), readings, records), days)


def planned(department: Department, load: Load = LOAD) -> np.ndarray:
    """What the sensor should show as described, shape (stages,) [Pa]."""
    model = CyclesModel(department, [kept(np.ones((5, len(STAGES))), load)])
    before = described_parameters(list(model.benches.values()), department.limits.flow)
    return model.predict(before.names, before.mean).shown


class Played(NamedTuple):
    """A department of known truth."""

    truth: np.ndarray
    cycles: list[KeptCycles]


class SmallDepartments:
    """Draws departments that differ from the small one's description as it leaves them room to.

    Factors are normal, and so is what no factor stands for and what the sensor shows too much, one for all cycles; the
    pump scatters from cycle to cycle.
    """

    def __init__(
        self,
        loads: tuple[Load, ...] = (LOAD,),
        stages: tuple[str, ...] = STAGES,
        department: Department | None = None,
    ) -> None:
        self.department = small_department() if department is None else department
        self.loads, self.stages = loads, stages
        empty = np.ones((5, len(stages)))
        self._model = CyclesModel(
            self.department, [kept(empty, load, first=100 * k, stages=stages) for k, load in enumerate(loads)]
        )
        self.before: Factors = described_parameters(list(self._model.benches.values()), self.department.limits.flow)

    def draw(self, count: int, chance: np.random.Generator, pump_scatter: float = 3e-3) -> Played:
        """Draw one department and the cycles of each of its loads."""
        truth = chance.normal(size=len(self.before.names)) * self.before.spread
        return Played(truth, self.cycles_of(self.before.names, truth, count, chance, pump_scatter))

    def cycles_of(
        self,
        names: tuple[str, ...],
        truth: np.ndarray,
        count: int,
        chance: np.random.Generator,
        pump_scatter: float = 3e-3,
    ) -> list[KeptCycles]:
        """Draw the cycles of each load of a department of known truth."""
        shown = self._model.predict(names, truth).shown
        root = np.linalg.cholesky(self._model.common() + 1e-9 * np.eye(shown.size))
        shown = shown + root @ chance.normal(size=shown.size)
        own = np.sqrt(np.diag(self._model.assumed()))
        cycles = []
        for place, load in enumerate(self.loads):
            rows = slice(place * len(self.stages), (place + 1) * len(self.stages))
            pump = 1.0 + pump_scatter * chance.normal(size=(count, 1))
            readings = shown[rows] * pump + own[rows] * chance.normal(size=(count, len(self.stages)))
            cycles.append(kept(readings, load, first=count * place, stages=self.stages))
        return cycles
