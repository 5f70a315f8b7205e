"""Computes what the jets strike in the loads of a plan."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from patency.flow import flow_of_load
from patency.load import pieces_of_set
from patency.plan import TimeLimit
from patency.quantities import Answer
from patency.reach import (
    Wetting,
    clearances,
    figures_of_zones,
    floor_of,
    held,
    reach_of_load,
    reached,
    shadowed_zones,
    smallest_change,
    stated_as_drawn,
)
from patency.steps.plan_loads import load_of_plan

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from patency.catalogue import Department
    from patency.flow import LoadFlow
    from patency.load import Load, PlacedPiece, Plan, Reply
    from patency.reach import Change, Clearance, LoadReach, Triangles


@dataclass(frozen=True, slots=True)
class ReachShown:
    """What geometry and jets say of one load.

    Parameters
    ----------
    load
        The load.
    found
        What was computed.
    words
        Set and piece to what people call it.
    replies
        Set and piece to the answer to **reached**.
    held
        Set and piece to the answer to **held**.
    clearances
        Set and piece to how far it stays from arms and other bodies.
    changes
        Set and piece to the smallest change that would help, for pieces of which jets strike less than asked for.
    """

    load: Load
    found: LoadReach
    words: Mapping[tuple[str, str], str]
    replies: Mapping[tuple[str, str], Reply]
    held: Mapping[tuple[str, str], Reply]
    clearances: Mapping[tuple[str, str], Clearance]
    changes: Mapping[tuple[str, str], Change]

    @property
    def places(self) -> dict[tuple[str, str], str]:
        """Set and piece to where it stands, or lies as it is drawn, which tells apart what is alike."""
        load = self.load
        for floor in dict.fromkeys(floor for one in load.pieces if (floor := floor_of(one))):
            load = stated_as_drawn(load, self.found.arranged, floor)
        return {(one.set, one.piece): _place(one) for one in load.pieces}

    @property
    def all_reached(self) -> bool:
        """Whether every piece is answered to be reached."""
        return all(reply.answer is Answer.YES for reply in self.replies.values())


def _place(placed: PlacedPiece) -> str:
    """Return the port or coil place, or the basket or pod with where on its floor a piece lies."""
    on = floor_of(placed) or placed.position
    if placed.lies is None:
        return on
    across, back = (f"{1000 * one:.0f} mm" for one in (placed.lies.from_left_m, placed.lies.from_front_m))
    return f"{on}, {across} from the left, {back} from the front"


def load_reach(
    department: Department, load: Load, water: LoadFlow, meshes: Mapping[str, Triangles] | None = None
) -> LoadReach:
    """Compute what the jets strike in a load with the flow its arms have in it.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    water
        The water in it.
    meshes
        Name of a mesh file to its triangles in metres.

    Returns
    -------
    LoadReach
        At the lower ends of the arms' flows in the wet stage in which they get least; forces as at the upper ends in
        that in which they get most.
    """
    stage = min(water.stages.values(), key=lambda one: sum(flow.low for flow in one.arms_m3_s.values()))
    flows = {name: flow.low for name, flow in stage.arms_m3_s.items()}
    open_ports = {name: flow.low for name, flow in stage.open_ports_m3_s.items()}
    times = _forces_times(water, {**flows, **open_ports})
    return reach_of_load(
        department, load, flows, stage.temperature_c, meshes, open_ports_m3_s=open_ports, forces_times=times
    )


def _forces_times(water: LoadFlow, least_m3_s: Mapping[str, float]) -> float:
    """Return by how much any jet can push more, at its largest flow in any stage, than at its least: by the square."""
    stages = water.stages.values()
    most = [named for one in stages for each in (one.arms_m3_s, one.open_ports_m3_s) for named in each.items()]
    flows = [(flow.high, least_m3_s[name]) for name, flow in most if flow.high > 0.0]
    return max(((high / low) ** 2 if low > 0.0 else math.inf for high, low in flows), default=1.0)


class Looks:
    """Computes what the jets strike, and recalls it of the loads of a plan.

    Parameters
    ----------
    department
        The department.
    meshes
        Name of a mesh file to its triangles in metres.
    limit
        When nothing more is computed; what is known already is recalled still.
    """

    def __init__(
        self,
        department: Department,
        meshes: Mapping[str, Triangles] | None = None,
        limit: TimeLimit | None = None,
    ) -> None:
        self.meshes = meshes
        self._department = department
        self._limit = limit or TimeLimit()
        self._known: dict[str, LoadReach] = {}

    def at(self, load: Load) -> LoadReach | None:
        """Recall what the jets strike in a load, or compute it.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        LoadReach or None
            As of ``load_reach``, without samples, for which only a move asks; None where the time was over.
        """
        key = load.model_dump_json()
        if key not in self._known:
            if self._limit.over(f"load {load.id}: what the jets strike"):
                return None
            self.keep(load, self.anew(load))
        return self._known[key]

    def anew(self, load: Load) -> LoadReach:
        """Compute what the jets strike in a load that may be tried and not taken: it is not kept.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        LoadReach
            As of ``load_reach``.
        """
        return load_reach(self._department, load, flow_of_load(self._department, load), self.meshes)

    def keep(self, load: Load, found: LoadReach) -> None:
        """Recall from now on what was computed of a load elsewhere.

        Parameters
        ----------
        load
            The load.
        found
            What was computed of it, with the flow its arms have in it.
        """
        strikes = found.strikes and found.strikes.without_samples()  # nobody moves a piece of what is recalled
        self._known[load.model_dump_json()] = replace(found, strikes=strikes)


def reach_of_plan(
    department: Department,
    plan: Plan,
    meshes: Mapping[str, Triangles],
    load_id: str | None = None,
    on_progress: Callable[[str], None] | None = None,
) -> list[ReachShown]:
    """Compute what the jets strike in every load of a plan.

    Parameters
    ----------
    department
        The department.
    plan
        The plan.
    meshes
        Name of a mesh file to its triangles in metres.
    load_id
        The one load that is asked for; None for all.
    on_progress
        Called with what is being done.

    Returns
    -------
    list[ReachShown]
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
            on_progress(f"load {load.id}: what the jets strike")
        found = load_reach(department, load, flow_of_load(department, load), meshes)
        words = {(one.set, one.key): one.words for name in load.sets for one in pieces_of_set(department, name)}
        replies = reached(department, load, found)
        stays = held(department, load, found)
        apart = clearances(found.arranged, department.machine_kinds[load.machine_kind])
        shown.append(ReachShown(load, found, words, replies, stays, apart, _changes(department, load, found)))
    return shown


def _changes(department: Department, load: Load, found: LoadReach) -> dict[tuple[str, str], Change]:
    keys = [(placed.set, placed.piece) for placed in load.pieces]
    tried = ((key, helping_change(department, load, found, key)) for key in keys)
    return {key: change for key, change in tried if change is not None}


def helping_change(department: Department, load: Load, found: LoadReach, key: tuple[str, str]) -> Change | None:
    """Find the smallest change that would help a piece of which jets strike less than the site asks for.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    found
        What was computed of it.
    key
        Set and piece.

    Returns
    -------
    Change or None
        As of ``smallest_change``; None where enough of it is struck, nobody asks for a share, or it is not known.
    """
    limit = department.limits.load.struck_share
    if limit is None or found.strikes is None or key not in found.strikes.pieces or found.gaps(key):
        return None
    if found.strikes.pieces[key].struck_share >= limit.value:
        return None
    placed = next(one for one in load.pieces if (one.set, one.piece) == key)
    return smallest_change(department, load, found.strikes, placed, limit.value)


def reach_document(plan: Plan, shown: list[ReachShown]) -> dict[str, Any]:
    """Return what the jets strike as plain values for JSON.

    Parameters
    ----------
    plan
        The plan.
    shown
        What was computed of its loads.

    Returns
    -------
    dict
        Format ``patency-reach/1``, in SI units.
    """
    return {
        "format": "patency-reach/1",
        "site": plan.site,
        "day": plan.day.isoformat(),
        "loads": [
            {
                "id": one.load.id,
                "gaps": list(one.found.arms.gaps),
                "pieces": [_piece(one, key, place) for key, place in one.places.items()],
            }
            for one in shown
        ],
    }


def _piece(one: ReachShown, key: tuple[str, str], place: str) -> dict[str, Any]:
    reply = one.replies[key]
    whole = one.found.strikes
    strikes = whole.pieces.get(key) if whole else None
    change, apart = one.changes.get(key), one.clearances.get(key)
    return {
        "set": key[0],
        "piece": key[1],
        "place": place,
        "answer": reply.answer.value,
        "why": reply.why,
        "assumed": list(one.found.arranged.assumed.get(key, ())),
        "faults": [fault.words for fault in one.found.faults if fault.piece == key],
        "shares": {each.name.lower(): strikes.share(each) for each in Wetting} if strikes else None,
        "clearance": None if apart is None else apart._asdict(),
        "push_n": strikes.push_n if strikes else None,
        "shadowed": [
            {"zone": zone.name, "struck_share": zone.struck_share, "shadowed_by": list(zone.shadowed_by)}
            for zone in (shadowed_zones(strikes) if strikes else ())
        ],
        "zones": [zone._asdict() for zone in (figures_of_zones(whole, key) if whole and strikes else ())],
        "change": {"words": change.words, "struck_share": change.struck_share} if change else None,
    }
