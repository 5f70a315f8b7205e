"""Accessories at the bench: how many there are, how many are broken, whether the plan of the day still holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.ledger import CountAccessory, LoadRecord, LoadState, Refused, Stock
from patency.steps.at_the_bench.loading import accessories_of
from patency.steps.at_the_bench.permission import CLEAN, SOILED, not_permitted

if TYPE_CHECKING:
    from patency.catalogue import Department
    from patency.ledger import Circumstances, Command
    from patency.load import Load
    from patency.steps.at_the_bench.workplace import Workplace


@dataclass(frozen=True, slots=True)
class Shortage:
    """A load that cannot be put together with what is there.

    Parameters
    ----------
    load_id
        The load.
    accessory
        Key of the accessory.
    name
        What people call it.
    needs
        How many the load needs.
    there
        How many the loads that run at the same time leave to it; never less than none.
    """

    load_id: str
    accessory: str
    name: str
    needs: int
    there: int


@dataclass(frozen=True, slots=True)
class StockLine:
    """One kind of accessory: how many are in working order, free, and in which loads."""

    accessory: str
    name: str
    usable: int
    free: int
    out: dict[str, int]


@dataclass(frozen=True, slots=True)
class StockShown:
    """All accessories, and where the plan of the day falls short of them."""

    lines: tuple[StockLine, ...]
    shortages: tuple[Shortage, ...]

    @property
    def plan_holds(self) -> bool:
        """Whether every load of the plan that has not run yet can be put together."""
        return not self.shortages


def count_of_department(department: Department) -> list[Command]:
    """Say what a ledger is told of a department's accessories to begin with.

    Parameters
    ----------
    department
        The department.

    Returns
    -------
    list[Command]
        One count for each kind, as the department describes it.
    """
    return [
        CountAccessory(accessory=key, usable=one.stock, why="as the department describes it")
        for key, one in department.accessories.items()
    ]


def show_stock(workplace: Workplace) -> StockShown:
    """Show the accessories.

    Parameters
    ----------
    workplace
        Ledger, department, plan.

    Returns
    -------
    StockShown
        In the department's order, with what the rest of the plan lacks.
    """
    stocks = {one.accessory: one for one in workplace.ledger.all_of(Stock)}
    lines = tuple(
        _line(one.name, stocks.get(key, Stock(accessory=key))) for key, one in workplace.department.accessories.items()
    )
    return StockShown(lines, tuple(_shortages(workplace, stocks)))


def _line(name: str, stock: Stock) -> StockLine:
    return StockLine(stock.accessory, name, stock.usable, stock.free, dict(stock.out))


def _shortages(workplace: Workplace, stocks: dict[str, Stock]) -> list[Shortage]:
    """Ask of every load that did not begin whether it finds enough, with the loads that are under way then."""
    waiting = [load for load in workplace.plan.loads if workplace.ledger.find(LoadRecord, load.id) is None]
    short = []
    for load in waiting:
        together = [load, *(other for other in waiting if other is not load and _overlap(load, other))]
        away = [
            record.load
            for record in workplace.ledger.all_of(LoadRecord)
            if record.state in {LoadState.PLANNED, LoadState.STARTED}
        ]
        for key, needs in accessories_of(load).items():
            if key not in workplace.department.accessories:
                continue
            stock = stocks.get(key, Stock(accessory=key))
            others = sum(accessories_of(other).get(key, 0) for other in together[1:])
            there = stock.usable - sum(stock.out.get(name, 0) for name in away) - others
            if needs > there:
                short.append(Shortage(load.id, key, workplace.department.accessories[key].name, needs, max(there, 0)))
    return short


def _overlap(one: Load, other: Load) -> bool:
    return one.starts < other.ends and other.starts < one.ends


def note_broken(
    workplace: Workplace, accessory: str, number: int, why: str, around: Circumstances
) -> StockShown | Refused:
    """Write down that accessories are no longer in working order.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    accessory
        Which kind.
    number
        How many.
    why
        What is wrong with them.
    around
        Who, when, where, under which key.

    Returns
    -------
    StockShown or Refused
        What is left, and whether the plan still holds.
    """
    if not workplace.did(around):
        stock = workplace.ledger.find(Stock, accessory)
        usable = (stock.usable if stock else 0) - number
        if stock is None or number < 1 or usable < 0:
            there = stock.usable if stock else 0
            return Refused.because(f"accessory {accessory}", f"{number} of {there}", "some of those that are there")
        if not why.strip():
            return Refused.because(f"accessory {accessory}", "has no reason", "what is wrong with them")
        count = CountAccessory(accessory=accessory, usable=usable, why=why)
        refused = not_permitted(workplace, around, SOILED | CLEAN) or workplace.write(around, [count])
        if refused:
            return refused
    return show_stock(workplace)
