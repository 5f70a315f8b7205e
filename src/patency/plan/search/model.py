"""The first level as a constraint model: which set in which load, how many demands on which places, and when.

A slot is the k-th run of a carrier. Runs of a carrier follow each other, so that no two loads of one carrier overlap;
machines and accessories are shared over time.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

from patency.plan.search.alike import alike
from patency.plan.search.integer import new_model, weighted
from patency.plan.search.modes import most_runs, useful_modes
from patency.plan.search.slots import Model, Slot, Term

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.plan.search.problem import CarrierCase, Problem, Way
    from patency.plan.search.slots import Fact


class Builder:
    """Writes a problem as a constraint model.

    Parameters
    ----------
    problem
        The problem.
    most_loads
        More loads than this are not needed.
    droppable
        Whether each fact gets a literal by which it can be dropped.
    """

    def __init__(self, problem: Problem, most_loads: int, *, droppable: bool = False) -> None:
        self._problem = problem
        self._most = most_loads
        self._droppable = droppable
        self._facts: dict[Fact, Any] = {}
        self._model = new_model()

    def build(self) -> Model:
        """Return the finished model."""
        slots = [slot for carrier in self._problem.carriers for slot in self._runs_of(carrier)]
        left_out = {name: self._model.new_bool_var(f"out {name}") for name in self._problem.sets}
        for name, out in left_out.items():
            self._model.add_exactly_one([out, *(slot.takes[name] for slot in slots if name in slot.takes)])
            if self._droppable:
                self._holds(self._model.add_bool_and([~out]), ("set", name))
        for slot in slots:
            self._contents(slot)
            self._arrangement(slot)
            self._company(slot)
        self._shared_machines(slots)
        self._shared_accessories(slots)
        if not self._droppable:  # a fact about one of two alike carriers tells them apart
            self._alike_carriers(slots)
        self._model.add(weighted((slot.used, 1) for slot in slots) <= self._most)
        return Model(self._model, self._problem, slots, left_out, self._facts)

    def _holds(self, constraint: Any, fact: Fact) -> None:  # noqa: ANN401
        if self._droppable:
            constraint.only_enforce_if(self._literal(fact))

    def _literal(self, fact: Fact) -> Any:  # noqa: ANN401
        if fact not in self._facts:
            self._facts[fact] = self._model.new_bool_var(" ".join(fact))
        return self._facts[fact]

    def _runs_of(self, carrier: str) -> list[Slot]:
        problem = self._problem
        modes = useful_modes(problem, carrier)
        takers = [name for name in problem.sets if problem.ways_of(name, carrier)]
        count = most_runs(problem, carrier, self._most) if modes and takers else 0
        if self._droppable and modes and takers:
            count = min(len(takers), self._most)
        slots = [self._slot(carrier, number, modes, takers) for number in range(count)]
        back = problem.carriers[carrier].back_min
        for before, after in pairwise(slots):
            self._model.add_implication(after.used, before.used)
            follows = self._model.add(after.start >= before.start + before.minutes + back)
            if self._droppable:
                follows.only_enforce_if([after.used, self._literal(("carrier", carrier))])
            else:
                follows.only_enforce_if(after.used)
        return slots

    def _slot(self, carrier: str, number: int, modes: Sequence[tuple[int, str, int]], takers: list[str]) -> Slot:
        name = f"{carrier} {number}"
        horizon = self._latest_start()
        used = self._model.new_bool_var(f"used {name}")
        start = self._model.new_int_var(0, horizon, f"start {name}")
        literals = {mode: self._model.new_bool_var(f"mode {name} {mode}") for mode in modes}
        self._model.add(weighted((literal, 1) for literal in literals.values()) == used)
        slot = Slot(carrier, number, used, start, literals)
        slot.takes = {taker: self._model.new_bool_var(f"{taker} in {name}") for taker in takers}
        return slot

    def _latest_start(self) -> int:
        problem = self._problem
        if not self._droppable:
            return problem.horizon_min
        longest = max((m for machine in problem.machines for m in machine.minutes.values()), default=0)
        backs = max((case.back_min for case in problem.carriers.values()), default=0)
        ready = max((case.ready_min for case in problem.sets.values()), default=0)
        return max(problem.horizon_min, ready) + len(problem.sets) * (longest + backs)

    def _contents(self, slot: Slot) -> None:
        """Which sets may be in a load, and when it can run."""
        problem, model = self._problem, self._model
        end = slot.start + slot.minutes
        for name, x in slot.takes.items():
            case = problem.sets[name]
            model.add_implication(x, slot.used)
            self._holds(model.add(slot.start >= case.ready_min * x), ("ready", name))
            suited = [literal for mode, literal in slot.modes.items() if mode[1] in case.programmes]
            if len(suited) < len(slot.modes):
                model.add_bool_or([*suited, ~x])
            if case.due_min is not None and not self._droppable:
                late = model.new_int_var(0, self._latest_start(), f"late {name} {slot.carrier} {slot.number}")
                model.add(late >= end - case.due_min - (1 - x) * self._latest_start())
                slot.late[name] = late
        model.add_bool_or([*slot.takes.values(), ~slot.used])
        self._holds(model.add(end <= problem.horizon_min), ("shift",))
        limit = problem.carriers[slot.carrier].mass_limit_g
        if limit is not None:
            mass = weighted((x, problem.sets[name].mass_g) for name, x in slot.takes.items())
            self._holds(model.add(mass <= limit), ("mass", slot.carrier))

    def _arrangement(self, slot: Slot) -> None:
        """How the demands of a load are met, and with what unused places are closed."""
        case = self._problem.carriers[slot.carrier]
        on_place: dict[str, list[Term]] = {place: [] for place in case.places}
        uses: dict[str, list[Term]] = {}
        for demand in dict.fromkeys(d for name in slot.takes for d in self._problem.sets[name].needs):
            for way, y in self._met(slot, demand, case.ways[demand]):
                slot.ways[demand, way] = y
                if way.place is not None:
                    on_place[way.place].append((y, 1))
                for accessory, number in way.uses:
                    uses.setdefault(accessory, []).append((y, number))
        for place, taken in on_place.items():
            self._close(slot, case, place, taken, uses)
        for accessory, terms in uses.items():
            slot.uses[accessory] = self._use(slot, accessory, terms)

    def _met(self, slot: Slot, demand: str, ways: tuple[Way, ...]) -> list[tuple[Way, Any]]:
        sets = self._problem.sets
        needed = [(x, sets[name].needs[demand]) for name, x in slot.takes.items() if demand in sets[name].needs]
        most = sum(number for _, number in needed)
        met = [
            (way, self._model.new_int_var(0, self._room(slot.carrier, way, most), f"{demand} {slot.carrier}"))
            for way in ways
        ]
        self._model.add(weighted((y, 1) for _, y in met) == weighted(needed))
        for way, y in met:
            if way.kinds is not None:
                elsewhere = [
                    literal
                    for (machine, _, _), literal in slot.modes.items()
                    if self._problem.machines[machine].kind not in way.kinds
                ]
                for literal in elsewhere:
                    self._model.add(y == 0).only_enforce_if(literal)
        return met

    def _room(self, carrier: str, way: Way, most: int) -> int:
        if way.place is None or self._droppable:
            return most
        return min(most, self._problem.carriers[carrier].places[way.place].size)

    def _close(self, slot: Slot, case: CarrierCase, place: str, taken: list[Term], uses: dict[str, list[Term]]) -> None:
        places = case.places[place]
        fact = ("places", slot.carrier, places.words or place)
        if places.caps is None or self._droppable:
            if taken:
                self._holds(self._model.add(weighted(taken) <= places.size * slot.used), fact)
            return
        name = f"{slot.carrier} {slot.number} {place}"
        slot.open[place] = self._model.new_int_var(0, places.size, f"open {name}")
        rest: list[Term] = [(slot.open[place], 1)]
        for cap in places.caps:
            closed = self._model.new_int_var(0, min(places.size, self._problem.stock[cap]), f"{cap} {name}")
            slot.closed[place, cap] = closed
            uses.setdefault(cap, []).append((closed, 1))
            rest.append((closed, 1))
        self._model.add(weighted([*taken, *rest]) == places.size * slot.used)

    def _use(self, slot: Slot, accessory: str, terms: list[Term]) -> Any:  # noqa: ANN401
        stock = self._problem.stock[accessory]
        most = 10**6 if self._droppable else stock
        total = self._model.new_int_var(0, most, f"{accessory} {slot.carrier} {slot.number}")
        self._model.add(weighted(terms) == total)
        self._holds(self._model.add(total <= stock), ("stock", accessory))
        return total

    def _company(self, slot: Slot) -> None:
        """What was learned after solving."""
        for index, cut in enumerate(self._problem.cuts):
            if cut.carrier != slot.carrier or not cut.company <= slot.takes.keys():
                continue
            holds = [self._literal(("water", str(index)))] if self._droppable else []
            company = [slot.takes[name] for name in sorted(cut.company)]
            modes = [lit for mode, lit in slot.modes.items() if cut.programme in {None, mode[1]}]
            for mode in modes if cut.programme is not None else [slot.used]:
                if cut.demand is None:
                    self._model.add_bool_or([*(~x for x in [*company, mode, *holds])])
                    continue
                there = [y for (d, way), y in slot.ways.items() if d == cut.demand and way.place == cut.place]
                if there:
                    fewer = self._model.add(sum(there) <= cut.at_most)
                    fewer.only_enforce_if([*company, mode, *holds])

    def _shared_machines(self, slots: list[Slot]) -> None:
        for index, machine in enumerate(self._problem.machines):
            here = [slot for slot in slots if any(mode[0] == index for mode in slot.modes)]
            if len({slot.carrier for slot in here}) <= len(machine.names) and not self._droppable:
                continue  # no more carriers than machines: none ever waits for a machine of this class
            intervals = []
            for slot in here:
                modes = {mode: literal for mode, literal in slot.modes.items() if mode[0] == index}
                for mode, literal in modes.items():
                    intervals.append(
                        self._model.new_optional_fixed_size_interval_var(slot.start, mode[2], literal, "washes")
                    )
            capacity: Any = len(machine.names)
            if self._droppable:
                capacity = capacity + len(slots) * (1 - self._literal(("machines", str(index))))
            self._model.add_cumulative(intervals, [1] * len(intervals), capacity)

    def _shared_accessories(self, slots: list[Slot]) -> None:
        """Accessories come back when the carrier is unloaded: loads that overlap share the stock."""
        for accessory, stock in self._problem.stock.items():
            here = [slot for slot in slots if accessory in slot.uses]
            if not self._droppable and self._most_at_once(here, accessory) <= stock:
                continue
            intervals, taken = [], []
            for slot in here:
                back = self._problem.carriers[slot.carrier].back_min
                for (_, _, minutes), mode in slot.modes.items():
                    away = self._model.new_optional_fixed_size_interval_var(slot.start, minutes + back, mode, "away")
                    intervals.append(away)
                    taken.append(slot.uses[accessory])
            capacity: Any = stock
            if self._droppable:
                capacity = stock + 10**6 * (1 - self._literal(("stock", accessory)))
            if intervals:
                self._model.add_cumulative(intervals, taken, capacity)

    def _most_at_once(self, slots: list[Slot], accessory: str) -> int:
        """Bound what loads that overlap can take: at most one of each carrier."""
        most: dict[str, int] = {}
        for slot in slots:
            total = 0
            case = self._problem.carriers[slot.carrier]
            for demand, way in slot.ways:
                number = dict(way.uses).get(accessory, 0)
                needed = sum(self._problem.sets[name].needs.get(demand, 0) for name in slot.takes)
                total += number * self._room(slot.carrier, way, needed)
            total += sum(case.places[place].size for place, cap in slot.closed if cap == accessory)
            most[slot.carrier] = min(total, self._problem.stock[accessory])
        return sum(most.values())

    def _alike_carriers(self, slots: list[Slot]) -> None:
        """Carriers that are alike are used in the order of their names."""
        firsts = {slot.carrier: slot for slot in slots if slot.number == 0}
        for one, other in alike(self._problem):
            if one in firsts and other in firsts:
                a, b = firsts[one], firsts[other]
                self._model.add_implication(b.used, a.used)
                self._model.add(a.start <= b.start).only_enforce_if(b.used)
