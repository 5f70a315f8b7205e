"""What stands on a load sheet: worked out once, then set as PDF and as a web page."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.papers.codes import qr_svg
from patency.papers.drawing.carrier import PlaceMark, draw_legend, draw_level
from patency.papers.drawing.oblique import draw_oblique
from patency.papers.sheets.floors import with_floors
from patency.papers.sheets.steps import NOTHING_TO_WATCH, PlaceStep, PortStep, place_steps, port_steps, set_letters
from patency.texts import CAUTIONS, LOOK_FIRST_WHY, ROWS_WHY, SHADOWS_WHY, UNLOADING_LOOK, loading_checks

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from patency.catalogue import Carrier, Department
    from patency.load import Load, PlacedPiece
    from patency.papers.reach.pictures import ReachPictures
    from patency.papers.sheets.watch import SheetWatch
    from patency.reach import FloorPlan

# What a level may take up on paper, across and down: the ports fill page 1 below the sets, three basket levels a row.
_PORTS_MM = (150.0, 186.0)
_BASKETS_MM = (58.0, 66.0)
_VIEW_MM = (184.0, 116.0)


@dataclass(frozen=True, slots=True)
class SetOnSheet:
    """A set of the load, with its letter, its code and what has to be there.

    Parameters
    ----------
    letter
        Stands for the set all over the sheet.
    name
        The set's name.
    qr_svg
        Its code to scan.
    instruments
        Number and name of each instrument, dismantled pieces not counted singly.
    pieces_total
        How many single pieces that makes.
    """

    letter: str
    name: str
    qr_svg: str
    instruments: tuple[tuple[int, str], ...]
    pieces_total: int


@dataclass(frozen=True, slots=True)
class LevelOnSheet:
    """A level of the carrier.

    Parameters
    ----------
    name
        What it is called.
    has_ports
        Whether it carries ports, or baskets and coils only.
    drawing_svg
        The level from above.
    """

    name: str
    has_ports: bool
    drawing_svg: str


@dataclass(frozen=True, slots=True)
class CapLine:
    """Ports that get the same cap.

    Parameters
    ----------
    cap
        The cap's name.
    ports
        The ports, in the order of the walk.
    """

    cap: str
    ports: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LoadSheet:
    """Everything on the sheet of one load, in words and pictures.

    Parameters
    ----------
    load_id, site, day, carrier, machine, programme, starts, ends
        The head of the sheet.
    qr_svg
        The load's code.
    sets
        Its sets.
    levels
        Each level of the carrier.
    legend_svg
        What the symbols mean.
    view_svg
        The loaded carrier as it should look from the front.
    fetch
        Number and name of every accessory to have at hand before starting.
    port_steps, place_steps
        In the order of loading.
    caps
        What closes the unused ports.
    open_ports
        Ports left open because no cap is left.
    checks_before_start, unloading_look, unloading_ports
        What is looked at in any load, and each connected port once for the look when unloading.
    watch
        The glances this very load needs, and what nobody sees of it.
    rows_why
        What the boxes in the rows of the steps stand for.
    look_first, look_first_why
        What the clean side looks at first, and why.
    shadows, shadows_why
        What jets strike least or nobody knows of, and what that says.
    cautions
        The standing cautions.
    reach
        Pictures of what jets strike; None where that is not computed.
    """

    load_id: str
    site: str
    day: str
    carrier: str
    machine: str
    programme: str
    starts: str
    ends: str
    qr_svg: str
    sets: tuple[SetOnSheet, ...]
    levels: tuple[LevelOnSheet, ...]
    legend_svg: str
    view_svg: str
    fetch: tuple[tuple[int, str], ...]
    port_steps: tuple[PortStep, ...]
    place_steps: tuple[PlaceStep, ...]
    caps: tuple[CapLine, ...]
    open_ports: tuple[str, ...]
    unloading_ports: tuple[str, ...]
    watch: SheetWatch = NOTHING_TO_WATCH
    look_first: tuple[str, ...] = ()
    rows_why: tuple[str, ...] = ROWS_WHY
    checks_before_start: tuple[str, ...] = field(default_factory=loading_checks)
    unloading_look: str = UNLOADING_LOOK
    look_first_why: str = LOOK_FIRST_WHY
    shadows: tuple[str, ...] = ()
    shadows_why: str = SHADOWS_WHY
    cautions: tuple[str, ...] = CAUTIONS
    reach: ReachPictures | None = None


def load_sheet(
    department: Department,
    load: Load,
    day: str,
    look_first: Sequence[str] = (),
    watch: SheetWatch = NOTHING_TO_WATCH,
    reach: ReachPictures | None = None,
    floors: Sequence[FloorPlan] = (),
    shadows: Sequence[str] = (),
) -> LoadSheet:
    """Work out the sheet of one load.

    Parameters
    ----------
    department
        The department the load was planned for.
    load
        The load.
    day
        The day as people write it.
    look_first
        Sentences that name the connections most worth a look on the clean side.
    watch
        What people watch in this load.
    reach
        Pictures of what jets strike, see ``reach_pictures``.
    floors
        Floors of baskets and pods on which the load states places, see ``patency.reach.floor_plans``.
    shadows
        Sentences that name the zones that jets strike least, and the pieces of which nobody knows.

    Returns
    -------
    LoadSheet
        All that is to be set on paper or screen.
    """
    carrier = department.carriers[load.carrier]
    letters = set_letters(load)
    marks = _marks(load, letters)
    on_ports = port_steps(department, load, letters, watch)
    in_places = place_steps(department, load, letters, len(on_ports) + 1)
    return LoadSheet(
        load_id=load.id,
        site=department.site,
        day=day,
        carrier=carrier.name,
        machine=load.machine,
        programme=department.programmes[load.programme].name,
        starts=f"{load.starts:%H:%M}",
        ends=f"{load.ends:%H:%M}",
        qr_svg=qr_svg(f"load:{load.id}"),
        sets=tuple(_set_on_sheet(department, load, name, letter) for name, letter in letters.items()),
        levels=tuple(_level(carrier, key, marks) for key in carrier.levels),
        legend_svg=draw_legend(),
        view_svg=draw_oblique(department, load, _VIEW_MM),
        fetch=_fetch(department, load),
        port_steps=on_ports,
        place_steps=with_floors(in_places, load, floors),
        caps=_caps(department, load, carrier),
        open_ports=load.open_ports,
        unloading_ports=tuple(port for port in carrier.ports if marks.get(port, PlaceMark()).tag),
        watch=watch,
        checks_before_start=loading_checks(watch.looks),
        look_first=tuple(look_first),
        shadows=tuple(shadows),
        reach=reach,
    )


def draw_load_level(
    department: Department, load: Load, level: str, lit: Collection[str], room_mm: tuple[float, float]
) -> str:
    """Draw one level of a load's carrier as on its sheet, with the places lit to which a hand goes now.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    level
        Key of the level.
    lit
        Ports, basket areas and coil places.
    room_mm
        What the picture may take up, across and down [mm].

    Returns
    -------
    str
        SVG source.
    """
    marks = _marks(load, set_letters(load))
    marks |= {place: replace(marks.get(place, PlaceMark()), lit=True) for place in lit}
    return draw_level(department.carriers[load.carrier], level, marks, room_mm)


def _level(carrier: Carrier, key: str, marks: dict[str, PlaceMark]) -> LevelOnSheet:
    has_ports = any(port.level == key for port in carrier.ports.values())
    drawing = draw_level(carrier, key, marks, _PORTS_MM if has_ports else _BASKETS_MM)
    return LevelOnSheet(carrier.levels[key].name, has_ports, drawing)


def _marks(load: Load, letters: dict[str, str]) -> dict[str, PlaceMark]:
    tags: dict[str, list[str]] = {}
    for piece in load.pieces:
        for place in _places_marked(piece):
            if letters[piece.set] not in tags.setdefault(place, []):
                tags[place].append(letters[piece.set])
    marks = {place: PlaceMark(tag="".join(those)) for place, those in tags.items()}
    marks |= {capped.port: PlaceMark(capped=True) for capped in load.capped_ports}
    return marks | {port: PlaceMark(left_open=True) for port in load.open_ports}


def _places_marked(piece: PlacedPiece) -> set[str]:
    """Name the places of the carrier a piece takes; a pod or holder takes the basket area it stands in."""
    if piece.placing in {Placing.POD, Placing.OPTIC_HOLDER}:
        return set() if piece.stands_in is None else {piece.stands_in}
    return {piece.position, *(connection.port for connection in piece.lumens)}


def _set_on_sheet(department: Department, load: Load, name: str, letter: str) -> SetOnSheet:
    contents = department.sets[name].contents
    return SetOnSheet(
        letter=letter,
        name=name,
        qr_svg=qr_svg(f"set:{name}"),
        instruments=tuple((count, department.instruments[key].name) for key, count in contents.items()),
        pieces_total=sum(1 for piece in load.pieces if piece.set == name),
    )


def _fetch(department: Department, load: Load) -> tuple[tuple[int, str], ...]:
    """Count what has to be at hand: links of chains, caps, optic holders by name, then pods and nets of any kind."""
    counts = Counter(link for piece in load.pieces for connection in piece.lumens for link in connection.chain)
    counts.update(capped.cap for capped in load.capped_ports)
    counts.update(piece.position for piece in load.pieces if piece.placing is Placing.OPTIC_HOLDER)
    named = [(count, department.accessories[key].name) for key, count in sorted(counts.items())]
    pods = {piece.position for piece in load.pieces if piece.placing is Placing.POD}
    netted = {piece.position for piece in load.pieces if piece.net}
    covers = [(len(pods), "pod with lid and label"), (len(netted), "hold-down net")]
    return (*named, *(line for line in covers if line[0]))


def _caps(department: Department, load: Load, carrier: Carrier) -> tuple[CapLine, ...]:
    order = list(carrier.ports)
    caps = sorted({capped.cap for capped in load.capped_ports})
    return tuple(
        CapLine(
            department.accessories[cap].name,
            tuple(sorted((c.port for c in load.capped_ports if c.cap == cap), key=order.index)),
        )
        for cap in caps
    )
