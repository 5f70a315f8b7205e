"""A plan and its loads: which piece stands where, connected through what to which port."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict

from patency.catalogue import CalendarDay, Leaning, LocalTime, Part, Placing, State


class PlanPart(BaseModel):
    """Base of everything in a plan: frozen, strict about keys, SI units named in the keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True)


class Connection(PlanPart):
    """How one lumen gets its water."""

    lumen: str
    """The lumen's key in its piece type."""
    port: str
    """The port's key on the carrier."""
    chain: tuple[str, ...]
    """Accessories from the port to the lumen, in order; empty where the port's own end fits."""
    nozzle_depth_m: float | None = None
    """Where an injector nozzle feeds the lumen: how far it stands inside the bore."""


class OnFloor(PlanPart):
    """Where something lies on the floor of its basket or pod."""

    from_left_m: float
    """From the left edge of the floor to the room it takes."""
    from_front_m: float
    """From the front edge of the floor to the room it takes."""
    points: Leaning
    """Toward which side of the carrier its distal end points; of a pod, along which its depth runs."""


class PlacedPiece(PlanPart):
    """One piece in its place."""

    set: str
    piece: str
    """Which piece: ``instrument/number/piece``, with ``/copy`` behind it where an instrument has several of it."""
    placing: Placing
    position: str
    """Port, basket area, coil place, pod or optic holder it goes to; a pod is named after its set."""
    lumens: tuple[Connection, ...] = ()
    stands_in: str | None = None
    """Basket area in which its pod or optic holder stands; None for what goes elsewhere, or a set without an area."""
    way_up: Literal["distal up", "distal down", "lying", "coiled"]
    leans: Leaning | None = None
    """Toward which side of the carrier it leans at its port; None where it stands upright or nobody stated it."""
    states: dict[Part, State] = {}
    """What has to be open, released or removed."""
    net: bool = False
    """Whether a hold-down net goes over it."""
    lies: OnFloor | None = None
    """Where in its basket or pod it lies; None where that is left open: beside the rest, in one layer."""


class CappedPort(PlanPart):
    """An unused port and what closes it."""

    port: str
    cap: str


class Load(PlanPart):
    """One load."""

    id: str
    carrier: str
    machine_kind: str
    machine: str
    """The machine the times were planned on; another of its kind does the same."""
    programme: str
    sets: tuple[str, ...]
    starts: LocalTime
    ends: LocalTime
    pieces: tuple[PlacedPiece, ...]
    capped_ports: tuple[CappedPort, ...]
    open_ports: tuple[str, ...] = ()
    """Unused ports that stay open because no cap is left; a person has to authorise them."""
    pods: dict[str, OnFloor] = {}
    """Set to where in its basket area its pod stands; where that is left open it is left out."""


class LeftOut(PlanPart):
    """A set that is in no load, and why."""

    set: str
    why: str


class StaysFed(PlanPart):
    """Single faults in each of which every lumen has to stay fed that does not hang on what has failed itself."""

    fault_kinds: tuple[str, ...]
    """Which kinds of fault."""
    costs: tuple[str, ...] = ()
    """What the plan has more of than one that does not ask for it; empty where it costs nothing."""
    would_buy: tuple[str, ...] = ()
    """Changes of the equipment with which the loads of that other plan would do, as computed."""
    would_not_do: tuple[str, ...] = ()
    """Faults for which no change that was tried is enough."""
    not_computed: tuple[str, ...] = ()
    """Faults of these kinds that cannot be computed, and how many lumens of which load cannot be judged in them, and
    why: whether lumens stay fed there is not known."""


class Plan(PlanPart):
    """Loads for a day, with what was proven about them."""

    format: Literal["patency-plan/1"] = "patency-plan/1"
    site: str
    day: CalendarDay
    loads: tuple[Load, ...]
    left_out: tuple[LeftOut, ...] = ()
    conflicts: tuple[str, ...] = ()
    """Where not everything can be planned: a smallest group of facts that cannot all hold, in words."""
    loads_at_least: int
    """No plan of these sets has fewer loads than this."""
    proven_fewest: bool
    objective: dict[str, float]
    """What was minimised, in order of importance."""
    bound: dict[str, float]
    """Proven lower bound of each."""
    commissioned: dict[str, str] = {}
    """Load to the id of the fit its flow was computed with; one left out was planned as described alone."""
    moved_for_reach: tuple[str, ...] = ()
    """What was moved so that no rule of room is broken and jets strike more, and what that costs the water."""
    cut_short: tuple[str, ...] = ()
    """What the time limit ended before it was done, so that better is not excluded; empty where it ended nothing."""
    stays_fed: StaysFed | None = None
    """Faults in which its lumens were asked to stay fed; None where nothing of the kind was asked."""
