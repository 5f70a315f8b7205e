"""What is shown of a piece: its words, its picture, whether it is sharp, whether its mark can be read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.ledger import Piece, Seen
from patency.papers import draw_load_floors, draw_load_level, draw_piece
from patency.reach import floor_plans

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from patency.catalogue import Department, PieceType
    from patency.ledger import InstrumentSet
    from patency.load import Load
    from patency.reach import FloorPlan, Triangles
    from patency.steps.at_the_bench.load_steps import LoadStep
    from patency.steps.at_the_bench.workplace import Workplace

_ROOM_MM = (150.0, 60.0)
_LARGEST_SCALE = 900.0  # mm of picture per metre of piece; small parts are not drawn larger than about life


@dataclass(frozen=True, slots=True)
class ShownPiece:
    """A piece, as people know it.

    Parameters
    ----------
    key, type_key
        As the ledger knows it.
    name, of
        The piece and the instrument it is a piece of; ``of`` is empty for a whole instrument.
    mark
        What is marked on it; None where nothing is.
    sharp
        Whether it can hurt.
    small
        Whether it lies in a pod.
    """

    key: str
    type_key: str
    name: str
    of: str
    mark: str | None
    sharp: bool
    small: bool

    @property
    def words(self) -> str:
        """The piece and its instrument in one."""
        return f"{self.name} – {self.of}" if self.of else self.name


def piece_type_of(department: Department, type_key: str) -> PieceType | None:
    """Find the type of a piece by the key under which the ledger knows it.

    Parameters
    ----------
    department
        The department.
    type_key
        ``instrument/piece``.

    Returns
    -------
    PieceType or None
        None where the department has no such piece.
    """
    instrument, _, piece = type_key.partition("/")
    known = department.instruments.get(instrument)
    return known.pieces.get(piece) if known else None


def show_piece(workplace: Workplace, piece: Piece) -> ShownPiece:
    """Say of a piece what people see of it.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    piece
        The piece.

    Returns
    -------
    ShownPiece
        Its words; of an unknown type its key alone, and then it counts as sharp.
    """
    kind = piece_type_of(workplace.department, piece.type_key)
    if kind is None:
        return ShownPiece(piece.piece, piece.type_key, piece.type_key, "", piece.mark, sharp=True, small=False)
    instrument = workplace.department.instruments[piece.type_key.partition("/")[0]]
    whole = len(instrument.pieces) == 1 or kind.name == instrument.name
    return ShownPiece(
        key=piece.piece,
        type_key=piece.type_key,
        name=instrument.name if whole else kind.name,
        of="" if whole else instrument.name,
        mark=piece.mark,
        sharp=kind.sharp,
        small=kind.placing is Placing.POD,
    )


def show_pieces(workplace: Workplace, keys: Iterable[str]) -> tuple[ShownPiece, ...]:
    """Say of several pieces what people see of them.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    keys
        As the ledger knows them.

    Returns
    -------
    tuple[ShownPiece, ...]
        In the same order; unknown keys are left out.
    """
    found = (workplace.ledger.find(Piece, key) for key in keys)
    return tuple(show_piece(workplace, piece) for piece in found if piece is not None)


def picture_of_type(department: Department, type_key: str, room_mm: tuple[float, float] = _ROOM_MM) -> str:
    """Draw a piece as large as there is room for, small ones not much larger than they are.

    Parameters
    ----------
    department
        The department.
    type_key
        ``instrument/piece``.
    room_mm
        What the picture may take up, across and down.

    Returns
    -------
    str
        SVG source; empty for an unknown type.
    """
    kind = piece_type_of(department, type_key)
    if kind is None:
        return ""
    scale = min(room_mm[0] / kind.length_m, room_mm[1] / kind.widest_m, _LARGEST_SCALE)
    return draw_piece(kind, scale)


def picture_of_level(workplace: Workplace, load: Load, step: LoadStep, room_mm: tuple[float, float]) -> str:
    """Draw the level of the carrier that a step is about, with the places lit to which the hand goes.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load
        The load with its deviations.
    step
        The step.
    room_mm
        What the picture may take up, across and down.

    Returns
    -------
    str
        SVG source.
    """
    return draw_load_level(workplace.department, load, step.level, step.where, room_mm)


def pictures_of_floors(
    workplace: Workplace, load: Load, step: LoadStep, meshes: Mapping[str, Triangles], room_mm: tuple[float, float]
) -> tuple[str, ...]:
    """Draw the floors of baskets and pods on which the pieces of a step come to lie, with these pieces lit.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load
        The load with its deviations.
    step
        The step.
    meshes
        Name of a mesh file to its triangles in metres.
    room_mm
        What a picture may take up, across and down.

    Returns
    -------
    tuple[str, ...]
        SVG source of each; empty where the plan leaves open where these pieces lie.
    """

    def floors_of_load(load: Load) -> tuple[FloorPlan, ...]:
        return floor_plans(workplace.department, load, meshes)

    floors = workplace.once(load, floors_of_load)
    return draw_load_floors(workplace.department, load, floors, step.pieces, room_mm)


def all_seen(found: InstrumentSet, scanned: Iterable[str] = ()) -> dict[str, Seen]:
    """Say that every piece that lies in a set was seen, the marked ones scanned where they were.

    Parameters
    ----------
    found
        The set.
    scanned
        Pieces whose mark was read.

    Returns
    -------
    dict[str, Seen]
        For a count.
    """
    read = set(scanned)
    return {key: Seen.SCANNED if key in read else Seen.BY_EYE for key in found.pieces}
