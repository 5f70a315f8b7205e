"""The ways through the pieces of a load: a lumen with its side holes, the gap outside a tube, the jet of a nozzle."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.flow.connector_chains import connector_chain, nozzle_openings, overlap_m
from patency.flow.joining import entry_loss
from patency.flow.losses import TEE_BRANCH
from patency.flow.lumen_geometry import cut_stretches, lumen_length_m, lumen_volume_m3, side_openings, stance_of
from patency.flow.lumen_paths import Jet, LumenPath
from patency.flow.network import Annulus
from patency.flow.stretches import Stretch, described_stretch
from patency.quantities import Toleranced

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.catalogue import Carrier, Department, FlushingSleeve, InjectorNozzle, Lumen, PieceType
    from patency.flow.draft import Draft
    from patency.flow.lumen_geometry import Stance
    from patency.load import Connection, PlacedPiece


@dataclass(frozen=True, slots=True)
class _Way:
    """A lumen to draw, and what stands before it since the last node."""

    name: str
    port: str
    lumen: Lumen
    stance: Stance
    node: str
    first_loss: float
    before: Sequence[Stretch]


@dataclass(frozen=True, slots=True)
class Connected:
    """A lumen of a placed piece and how it is connected.

    Parameters
    ----------
    placed
        The piece in its place.
    piece
        Its type.
    connection
        How the lumen is connected.
    """

    placed: PlacedPiece
    piece: PieceType
    connection: Connection

    @property
    def lumen(self) -> Lumen:
        """The lumen."""
        return self.piece.lumens[self.connection.lumen]


def draw_lumen(
    draft: Draft, node: str, department: Department, carrier: Carrier, connected: Connected, mark: str = ""
) -> LumenPath:
    """Draw the way from a port through its connector chain and a lumen into the open.

    Parameters
    ----------
    draft
        The network so far.
    node
        The port's node.
    department
        The department.
    carrier
        The carrier.
    connected
        The lumen and how it is connected.
    mark
        What tells its links and outlets from those of the same lumen fed another way.

    Returns
    -------
    LumenPath
        Where in the network the lumen is.

    Raises
    ------
    InputError
        If the connector chain cannot be read.
    """
    placed, connection, lumen = connected.placed, connected.connection, connected.lumen
    port = carrier.ports[connection.port]
    chain = connector_chain(department, port, connection, lumen, draft.defaults)
    way = _Way(
        name=f"lumen {placed.set} {placed.piece} {connection.lumen}{mark}",
        port=connection.port,
        lumen=lumen,
        stance=stance_of(carrier, port, placed, lumen_length_m(lumen)),
        node=node,
        first_loss=TEE_BRANCH,
        before=chain.stretches,
    )
    if chain.nozzle is not None:
        return _draw_jet(draft, way, chain.nozzle, connection.nozzle_depth_m)
    gap = None if chain.sleeve is None else _gap(draft, chain.sleeve, lumen, connected.piece)
    if chain.sleeve is None or gap is None:
        return _draw_bore(draft, way)
    return _draw_open_sleeve(draft, way, chain.sleeve, gap)


def _height_m(way: _Way, along_m: float) -> float:
    """Height of a place along the lumen."""
    stance = way.stance
    return stance.inlet_m + (stance.outlet_m - stance.inlet_m) * along_m / lumen_length_m(way.lumen)


def _draw_bore(draft: Draft, way: _Way) -> LumenPath:
    """Draw a lumen through which all water of its connection runs; side holes let it out on the way."""
    holes = side_openings(way.lumen, draft.defaults)
    rows = cut_stretches(way.lumen, way.name, [at for at, _ in holes], draft.defaults)
    openings = [f"{way.name} side hole {number}" for number in range(1, len(holes) + 1)]
    paths = [*(f"{way.name} to side hole {number}" for number in range(1, len(holes) + 1)), way.name]
    node, first_loss, before = way.node, way.first_loss, list(way.before)
    own: list[tuple[str, int]] = []
    for path, row, end, (along_m, opening) in zip(paths, rows, openings, holes, strict=False):
        own += [(path, len(before) + k) for k in range(len(row))]
        draft.link(path, (node, end), [*before, *row], first_loss)
        draft.outlet(end, end, [opening], 0.0, _height_m(way, along_m))
        node, first_loss, before = end, 0.0, []
    own += [(way.name, len(before) + k) for k in range(len(rows[-1]))]
    draft.outlet(way.name, node, [*before, *rows[-1]], first_loss, way.stance.outlet_m)
    return LumenPath(
        port=way.port,
        begins=paths[0],
        entry=own[0],
        own=tuple(own),
        outlets=(*openings, way.name),
        volume_m3=lumen_volume_m3(way.lumen),
        inlet_elevation_m=way.stance.inlet_m,
        side_holes=tuple(zip(openings, paths[1:], strict=True)),
    )


def _gap(draft: Draft, sleeve: FlushingSleeve, lumen: Lumen, piece: PieceType) -> Stretch | None:
    """Describe the gap between an open sleeve and the tube in it; None where the sleeve closes around the tube."""
    stated = None if lumen.inlet is None else lumen.inlet.size_m
    tube = Toleranced(piece.outline[0].width_m) if stated is None else stated
    if sleeve.end_cap or tube.nominal >= sleeve.inner_m.nominal:
        return None
    segment = Annulus(
        outer_diameter_m=sleeve.inner_m.nominal,
        inner_diameter_m=tube.nominal,
        length_m=overlap_m(sleeve, lumen),
        roughness_m=draft.defaults.roughness_m(None),
        minor_loss=0.0,
    )
    return Stretch(segment, draft.defaults.bore_doubt_m(sleeve.inner_m), draft.defaults.rod_doubt_m(tube), 0.0)


def _draw_open_sleeve(draft: Draft, way: _Way, sleeve: FlushingSleeve, gap: Stretch) -> LumenPath:
    """Draw a sleeve without end cap: its water parts into the bore and into the gap outside the tube."""
    chamber, outside = f"{way.name} sleeve", f"{way.name} outside"
    chamber_m2 = math.pi / 4.0 * sleeve.inner_m.nominal**2
    draft.link(chamber, (way.node, chamber), way.before, way.first_loss, chamber_m2)
    draft.outlet(outside, chamber, [gap], entry_loss(chamber_m2, gap), _height_m(way, overlap_m(sleeve, way.lumen)))
    first = described_stretch(way.lumen.segments[0], draft.defaults)
    inside = replace(way, node=chamber, first_loss=entry_loss(chamber_m2, first), before=())
    path = _draw_bore(draft, inside)
    return replace(path, begins=chamber, outlets=(*path.outlets, outside), outside=outside)


def _draw_jet(draft: Draft, way: _Way, nozzle: InjectorNozzle, depth_m: float | None) -> LumenPath:
    """Draw an injector nozzle: what the network sees is the nozzle, whose jet leaves into the open inside the bore."""
    base_m = min(way.stance.inlet_m, way.stance.outlet_m)
    height_m = base_m + way.stance.steepness * nozzle.length_m.nominal
    draft.outlet(way.name, way.node, [*way.before, nozzle_openings(nozzle, draft.defaults)], way.first_loss, height_m)
    depth_m = depth_m or 0.0  # not stated: side holes count as outside the bore, the jet has the whole bore to climb
    tip = nozzle.outlet_m.nominal**2
    sides = [
        (holes.count * holes.diameter_m**2, nozzle.length_m.nominal - holes.from_inlet_m <= depth_m)
        for holes in nozzle.side_holes or ()
    ]
    whole = tip + sum(area for area, _ in sides)
    jet = Jet(
        share_inside=(tip + sum(area for area, inside in sides if inside)) / whole,
        share_tip=tip / whole,
        climb_m=max(lumen_length_m(way.lumen) - depth_m, 0.0) * way.stance.steepness,
    )
    entry = (way.name, len(way.before) - 1)
    return LumenPath(way.port, way.name, entry, (), (way.name,), lumen_volume_m3(way.lumen), base_m, jet)
