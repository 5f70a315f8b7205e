"""The steps of loading one carrier, one at a time: what goes on a port, what lies in a place, what is capped."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from patency.papers import load_sheet
from patency.texts import people_length

if TYPE_CHECKING:
    from patency.load import Load
    from patency.papers import PlaceStep, PortStep
    from patency.steps.at_the_bench.workplace import Workplace


class StepKind(StrEnum):
    """What a hand does in a step."""

    ON_PORT = "on a port"
    IN_PLACE = "in a place"
    CAP = "cap"


@dataclass(frozen=True, slots=True)
class LoadStep:
    """One step.

    Parameters
    ----------
    key
        Tells it from the others of its load, also after a deviation.
    kind
        What a hand does.
    set_key, letter
        The set and its letter; empty for caps.
    pieces
        Set and key within it of each piece.
    where
        Ports or place, as marked on the carrier.
    name, of
        What it is; for a place how many pieces of how many kinds.
    height
        How high the port stands, in words; empty for places.
    connect
        Chain of connectors from the port on, one line a lumen.
    set_up
        Way up, leaning, jaws, taps, depth of a nozzle.
    lines
        For a place: the pieces, one line a kind.
    numbers
        For each line its number in the picture of the floor; empty where the plan leaves open where it lies.
    notes
        What covers it and where it stands.
    sharp
        Whether something in it can hurt.
    picture_type
        Type of the piece to be drawn; empty for places and caps.
    level
        Key of the carrier's level to be shown.
    """

    key: str
    kind: StepKind
    set_key: str
    letter: str
    pieces: tuple[tuple[str, str], ...]
    where: tuple[str, ...]
    name: str
    of: str
    height: str
    connect: tuple[str, ...]
    set_up: tuple[str, ...]
    lines: tuple[str, ...]
    numbers: tuple[str, ...]
    notes: tuple[str, ...]
    sharp: bool
    picture_type: str
    level: str


def steps_of_load(workplace: Workplace, load: Load) -> tuple[LoadStep, ...]:
    """List the steps of loading, in order: ports near to far, places, caps.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load
        The load as it is to be, deviations included.

    Returns
    -------
    tuple[LoadStep, ...]
        The steps.
    """

    def steps(load: Load) -> tuple[LoadStep, ...]:
        return _steps(workplace, load)

    return workplace.once(load, steps)


def _steps(workplace: Workplace, load: Load) -> tuple[LoadStep, ...]:
    sheet = load_sheet(workplace.department, load, f"{workplace.plan.day}")
    names = {one.letter: one.name for one in sheet.sets}
    ports = [_on_port(workplace, load, step, names) for step in sheet.port_steps]
    places = [_in_place(workplace, load, step, names) for step in sheet.place_steps]
    return (*ports, *places, *_caps(workplace, load))


def _on_port(workplace: Workplace, load: Load, step: PortStep, names: dict[str, str]) -> LoadStep:
    set_key, piece = step.piece
    port = workplace.department.carriers[load.carrier].ports[step.ports[0]]
    instrument, _, kind = piece.split("/")[:3]
    return LoadStep(
        key=f"{set_key}/{piece}",
        kind=StepKind.ON_PORT,
        set_key=names[step.letter],
        letter=step.letter,
        pieces=(step.piece,),
        where=step.ports,
        name=step.name,
        of=step.of,
        height=people_length(port.at.z_m),
        connect=step.connect,
        set_up=step.set_up,
        lines=(),
        numbers=(),
        notes=(),
        sharp=step.warning == "sharp",
        picture_type=f"{instrument}/{kind}",
        level=port.level,
    )


def _in_place(workplace: Workplace, load: Load, step: PlaceStep, names: dict[str, str]) -> LoadStep:
    carrier = workplace.department.carriers[load.carrier]
    set_key = names[step.letter]
    areas = {one.stands_in for one in load.pieces if (one.set, one.piece) in set(step.pieces) and one.stands_in}
    lit = next((place for place in (step.place, *sorted(areas)) if place in carrier.basket_areas), "")
    place = carrier.basket_areas.get(lit) or carrier.coil_places.get(step.place)
    total = sum(line.count for line in step.lines)
    return LoadStep(
        key=f"{step.place}: {step.pieces[0][0]}/{step.pieces[0][1]}",
        kind=StepKind.IN_PLACE,
        set_key=set_key,
        letter=step.letter,
        pieces=step.pieces,
        where=tuple(dict.fromkeys(name for name in (step.place, lit) if name)),
        name=step.lines[0].name if len(step.lines) == 1 else f"{total} pieces",
        of=step.lines[0].of if len(step.lines) == 1 else "",
        height="",
        connect=(),
        set_up=step.lines[0].set_up if len(step.lines) == 1 else (),
        lines=tuple(
            f"{line.count} × {line.name}{f' – {line.of}' if line.of else ''}"
            f"{': ' + ', '.join(line.set_up) if line.set_up else ''}"
            for line in step.lines
        ),
        numbers=tuple(line.number for line in step.lines),
        notes=step.notes,
        sharp=any(line.warning == "sharp" for line in step.lines),
        picture_type=_only_type(step) if len(step.lines) == 1 else "",
        level=place.level if place else next(iter(carrier.levels)),
    )


def _only_type(step: PlaceStep) -> str:
    instrument, _, kind = step.pieces[0][1].split("/")[:3]
    return f"{instrument}/{kind}"


def _caps(workplace: Workplace, load: Load) -> tuple[LoadStep, ...]:
    carrier = workplace.department.carriers[load.carrier]
    together: dict[tuple[str, str], list[str]] = {}
    capped = {one.port: one.cap for one in load.capped_ports}
    for port in carrier.ports:
        if port in capped:
            together.setdefault((capped[port], carrier.ports[port].level), []).append(port)
    return tuple(
        LoadStep(
            key=f"cap {cap} on {level}",
            kind=StepKind.CAP,
            set_key="",
            letter="",
            pieces=(),
            where=tuple(ports),
            name=workplace.department.accessories[cap].name,
            of="",
            height="",
            connect=(),
            set_up=(),
            lines=(),
            numbers=(),
            notes=(f"{len(ports)} to close",),
            sharp=False,
            picture_type="",
            level=level,
        )
        for (cap, level), ports in together.items()
    )
