"""What if: a port of a load is capped, opened or blocked, and the flow of every lumen is computed anew."""

from __future__ import annotations

import enum
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.errors import InputError
from patency.flow import least_values, nominal_flow_of_load
from patency.load import CappedPort, pieces_of_set
from patency.texts import people_flow, people_pressure, people_shear

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from patency.catalogue import Department
    from patency.flow import LeastValues, LoadFlow, LumenFlow
    from patency.load import Load, PlacedPiece

_NOTICED = 0.005  # a change of less than half a per cent is not worth a word


class PortIs(enum.StrEnum):
    """How a port stands."""

    CONNECTED = "connected"
    CAPPED = "capped"
    OPEN = "open"
    BLOCKED = "blocked"


@dataclass(frozen=True, slots=True)
class LabPort:
    """A port of the carrier.

    Parameters
    ----------
    key, kind
        Its key and what kind of outlet it is.
    x_m, y_m, level
        Where it stands: across, along from the front [m], on which level.
    planned
        How it stands as planned.
    now
        How it stands here.
    piece
        What is connected to it as planned; empty where nothing is.
    """

    key: str
    kind: str
    x_m: float
    y_m: float
    level: str
    planned: PortIs
    now: PortIs
    piece: str

    @property
    def following(self) -> PortIs:
        """How it stands after one more touch: as planned, open, blocked, and round again; a cap is off or on."""
        order: tuple[PortIs, ...]
        if self.planned is PortIs.CONNECTED:
            order = (PortIs.CONNECTED, PortIs.OPEN, PortIs.BLOCKED)
        else:
            order = (self.planned, PortIs.OPEN if self.planned is PortIs.CAPPED else PortIs.CAPPED)
        return order[(order.index(self.now) + 1) % len(order)]


@dataclass(frozen=True, slots=True)
class LabLumen:
    """The water in one lumen, before and now.

    Parameters
    ----------
    name, set_key, port
        Which lumen, of which set, at which port.
    flow, flow_before, least_flow
        Words; a dash where there is none.
    flow_change, shear_change
        Relative to the plan [-]; None where the shear stress is not known.
    shear, shear_before, least_shear
        Words.
    share
        Flow as a share of the flow planned [-].
    enough
        Whether it gets what is asked for: ``yes``, ``no``, or ``unknown`` where nothing is stated.
    enough_before
        The same as planned.
    """

    name: str
    set_key: str
    port: str
    flow: str
    flow_before: str
    least_flow: str
    flow_change: float
    shear: str
    shear_before: str
    least_shear: str
    shear_change: float | None
    share: float
    enough: str
    enough_before: str

    @property
    def changed(self) -> bool:
        """Whether its flow differs by what is worth a word."""
        return abs(self.flow_change) >= _NOTICED


@dataclass(frozen=True, slots=True)
class Laboratory:
    """A load as it was changed.

    Parameters
    ----------
    load
        As planned.
    ports
        Every port of its carrier.
    lumens
        Every lumen connected as planned; those with too little first, then the most changed.
    pressure, pressure_before
        At the circulation sensor in the stage in which it is lowest, in words.
    pressure_change
        Relative to the plan [-]: what the machine's own sensor could see.
    changes
        Port to how it stands here, of those that do not stand as planned.
    """

    load: Load
    ports: tuple[LabPort, ...]
    lumens: tuple[LabLumen, ...]
    pressure: str
    pressure_before: str
    pressure_change: float
    changes: Mapping[str, PortIs]

    def short(self) -> int:
        """Count the lumens that get too little here and got enough as planned, leaving out those cut off by hand.

        Returns
        -------
        int
            How many.
        """
        return sum(
            one.enough == "no" and one.enough_before != "no" and one.port not in self.changes for one in self.lumens
        )


def try_ports(department: Department, load: Load, changes: Mapping[str, PortIs], day: date) -> Laboratory:
    """Compute the flow of a load in which some ports stand otherwise than planned, at nominal sizes.

    Parameters
    ----------
    department
        The department.
    load
        The load as planned.
    changes
        Port to how it stands here.
    day
        Day on which limits have to be in date.

    Returns
    -------
    Laboratory
        Every lumen before and now.

    Raises
    ------
    InputError
        When the carrier has no such port, or a port cannot stand so.
    PhysicsError
        When the pump is driven beyond its run-out.
    """
    planned = _planned(department, load)
    kept = {port: now for port, now in changes.items() if now is not planned.get(port)}
    for port, now in kept.items():
        _check(department, load, planned, port, now)
    before = nominal_flow_of_load(department, load)
    now_flow = nominal_flow_of_load(department, _changed(department, load, kept)) if kept else before
    least = least_values(department, load, before, day)
    lumens = _lumens(department, load, before, now_flow, least)
    stage = min(before.stages, key=lambda name: before.stages[name].circulation_pa.nominal)
    was, is_now = (flow.stages[stage].circulation_pa.nominal for flow in (before, now_flow))
    return Laboratory(
        load=load,
        ports=_ports(department, load, planned, kept),
        lumens=tuple(sorted(lumens, key=lambda one: (one.enough != "no", one.flow_change))),
        pressure=people_pressure(is_now),
        pressure_before=people_pressure(was),
        pressure_change=is_now / was - 1.0,
        changes=kept,
    )


def _planned(department: Department, load: Load) -> dict[str, PortIs]:
    used = {one.port for piece in load.pieces for one in piece.lumens}
    capped = {one.port for one in load.capped_ports}
    return {
        port: PortIs.CONNECTED if port in used else PortIs.CAPPED if port in capped else PortIs.OPEN
        for port in department.carriers[load.carrier].ports
    }


def _check(department: Department, load: Load, planned: Mapping[str, PortIs], port: str, now: PortIs) -> None:
    if port not in planned:
        raise InputError(
            f"port {port}", f"is none of {load.carrier}", ", ".join(department.carriers[load.carrier].ports)
        )
    if now is PortIs.CONNECTED:
        raise InputError(f"port {port}", "has nothing to be connected", "capped, open or blocked")


def _changed(department: Department, load: Load, changes: Mapping[str, PortIs]) -> Load:
    cap = next((one.cap for one in load.capped_ports), next(iter(department.accessories)))
    pieces = tuple(_without(piece, changes) for piece in load.pieces)
    capped = [one for one in load.capped_ports if one.port not in changes]
    # What is blocked lets nothing through, as what is capped does.
    closed = [port for port, now in changes.items() if now is not PortIs.OPEN]
    capped += [CappedPort(port=port, cap=cap) for port in closed]
    still_open = [port for port in load.open_ports if port not in changes]
    opened = [port for port, now in changes.items() if now is PortIs.OPEN]
    return load.model_copy(
        update={"pieces": pieces, "capped_ports": tuple(capped), "open_ports": (*still_open, *opened)}
    )


def _without(piece: PlacedPiece, changes: Mapping[str, PortIs]) -> PlacedPiece:
    kept = tuple(one for one in piece.lumens if one.port not in changes)
    return piece if len(kept) == len(piece.lumens) else piece.model_copy(update={"lumens": kept})


def _lumens(
    department: Department,
    load: Load,
    before: LoadFlow,
    now: LoadFlow,
    least: Mapping[tuple[str, str, str], LeastValues],
) -> list[LabLumen]:
    pieces = {(piece.set, piece.key): piece for name in load.sets for piece in pieces_of_set(department, name)}
    found = []
    for placed in load.pieces:
        words = pieces[placed.set, placed.piece].words
        for one in placed.lumens:
            key = (placed.set, placed.piece, one.lumen)
            name = f"{words}, {one.lumen}" if len(placed.lumens) > 1 else words
            found.append(_lumen((name, placed.set, one.port), before.lumens[key], now.lumens.get(key), least[key]))
    return found


def _lumen(named: tuple[str, str, str], was: LumenFlow, now: LumenFlow | None, least: LeastValues) -> LabLumen:
    flow = now.flow_m3_s.nominal if now else 0.0
    shear = now.shear_pa.nominal if now and now.shear_pa else None if now else 0.0
    shear_was = was.shear_pa.nominal if was.shear_pa else None
    asked_flow = least.flow_m3_s.value if least.flow_m3_s else None
    asked_shear = least.shear_pa.value if least.shear_pa else None
    share = flow / was.flow_m3_s.nominal if was.flow_m3_s.nominal else 0.0
    known = shear_was is not None and shear is not None
    return LabLumen(
        *named,
        flow=people_flow(flow),
        flow_before=people_flow(was.flow_m3_s.nominal),
        least_flow=people_flow(asked_flow) if asked_flow is not None else "–",
        flow_change=share - 1.0,
        shear=people_shear(shear) if known and shear is not None else "–",
        shear_before=people_shear(shear_was) if shear_was is not None else "–",
        least_shear=people_shear(asked_shear) if asked_shear is not None else "–",
        shear_change=shear / shear_was - 1.0 if known and shear is not None and shear_was else None,
        share=share,
        enough=_enough((flow, asked_flow), (shear, asked_shear)),
        enough_before=_enough((was.flow_m3_s.nominal, asked_flow), (shear_was, asked_shear)),
    )


def _enough(*asked: tuple[float | None, float | None]) -> str:
    """Say whether every value asked for is reached; a value that is not known or not asked for at all says nothing."""
    stated = [(value, limit) for value, limit in asked if limit is not None]
    if any(value is not None and value < limit for value, limit in stated):
        return "no"
    return "yes" if stated and all(value is not None for value, _ in stated) else "unknown"


def _ports(
    department: Department, load: Load, planned: Mapping[str, PortIs], changes: Mapping[str, PortIs]
) -> tuple[LabPort, ...]:
    pieces = {(piece.set, piece.key): piece for name in load.sets for piece in pieces_of_set(department, name)}
    held = {one.port: pieces[placed.set, placed.piece].words for placed in load.pieces for one in placed.lumens}
    return tuple(
        LabPort(
            key=key,
            kind=port.kind.value,
            x_m=port.at.x_m,
            y_m=port.at.y_m,
            level=port.level,
            planned=planned[key],
            now=changes.get(key, planned[key]),
            piece=held.get(key, ""),
        )
        for key, port in department.carriers[load.carrier].ports.items()
    )
