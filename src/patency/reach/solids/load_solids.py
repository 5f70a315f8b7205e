"""A load as arranged as solids: every piece, what connects it, the baskets around it and the carrier's rods."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np

from patency.catalogue import Cap, ChainLink, Placing
from patency.load import pieces_of_set
from patency.reach.placement import load_standing
from patency.reach.solids.basket_solids import Floor, LaidPiece, basket_floor, lay_pieces, pod_floor, pod_of
from patency.reach.solids.bodies import turned, wire
from patency.reach.solids.chamber import chamber_around
from patency.reach.solids.connections import Feed, connection_solids
from patency.reach.solids.mesh import Zone, of_triangles
from patency.reach.solids.pieces import PATCH_M, Solid, cable_solid, mesh_solid, piece_solid
from patency.reach.solids.placed import (
    Arranged,
    PlacedSolid,
    Pose,
    Role,
    Screen,
    level_toward,
    standing_pose,
    upside_down,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from patency.catalogue import Carrier, CoilPlace, Department
    from patency.load import Load, PlacedPiece
    from patency.reach.solids.mesh import Floats, Integers
    from patency.reach.solids.placed import PieceKey

Triangles = tuple["Floats", "Integers"]
"""Places of vertices [m] and corners of faces of a mesh file."""

NO_ROOM = "finds no room beside the rest"
"""Why something in a basket could not be drawn."""

_FROM_LEFT = np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]])  # the z axis of a coil points to the right


def solids_of_load(
    department: Department, load: Load, meshes: Mapping[str, Triangles] | None = None, cell_m: float = PATCH_M
) -> Arranged:
    """Draw a load as arranged.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    meshes
        Name of a mesh file to its triangles in metres, for pieces and carriers whose shape the catalogue takes
        from a file.
    cell_m
        Largest size of a surface patch [m]; jaws get patches half as large.

    Returns
    -------
    Arranged
        Every piece that can be drawn, with what feeds it; baskets, pods, nets; rods of the carrier. Pieces whose
        place in a basket the plan leaves open lie side by side in one layer, and ``assumed`` says so.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    drawing = _Drawing(department, load, meshes or {}, cell_m)
    drawing.draw()
    return Arranged(
        tuple(drawing.solids),
        tuple(drawing.screens),
        {key: tuple(dict.fromkeys(gaps)) for key, gaps in drawing.gaps.items()},
        {key: tuple(dict.fromkeys(words)) for key, words in drawing.assumed.items()},
        chamber_around(department.machine_kinds[load.machine_kind], drawing.carrier),
    )


class _Drawing:
    """Gathers the solids of one load."""

    def __init__(self, department: Department, load: Load, meshes: Mapping[str, Triangles], cell_m: float) -> None:
        self.department, self.load, self.meshes, self.cell_m = department, load, meshes, cell_m
        self.carrier: Carrier = department.carriers[load.carrier]
        self.pieces = {(one.set, one.key): one for name in load.sets for one in pieces_of_set(department, name)}
        self.solids: list[PlacedSolid] = []
        self.screens: list[Screen] = []
        self.gaps: dict[PieceKey, list[str]] = defaultdict(list)
        self.assumed: dict[PieceKey, list[str]] = defaultdict(list)

    def draw(self) -> None:
        for placed in self.load.pieces:
            if placed.placing is Placing.PORT:
                self._at_port(placed)
            elif placed.placing is Placing.COIL_RACK:
                self._on_coil(placed)
        self._in_baskets()
        self._carrier()
        self._caps()

    def _solid(self, key: PieceKey) -> Solid:
        piece = self.pieces[key].piece_type
        if piece.mesh is None:
            return piece_solid(piece, self.cell_m)
        if piece.mesh.file not in self.meshes:
            return Solid(None, (f"its mesh file {piece.mesh.file} is not at hand",))
        return mesh_solid(piece, *self.meshes[piece.mesh.file], self.cell_m)

    def _add(self, placed: PlacedPiece, solid: Solid, pose: Pose, stands_on: str) -> None:
        key = (placed.set, placed.piece)
        self.gaps[key] += solid.gaps
        if solid.mesh is not None:
            words = self.pieces[key].words
            mass = self.pieces[key].piece_type.mass_kg
            self.solids.append(PlacedSolid(Role.PIECE, words, solid.mesh, pose, key, stands_on, mass_kg=mass))

    def _at_port(self, placed: PlacedPiece) -> None:
        key = (placed.set, placed.piece)
        piece = self.pieces[key].piece_type
        stands = load_standing(self.department, self.load, placed)
        at = stands.port.at
        foot = np.array([at.x_m, at.y_m, at.z_m])
        leans = placed.leans or stands.port.stand.leans
        if leans is None and stands.cosine > 1e-6:
            self.gaps[key].append("toward which side it leans is not stated")
        pose = standing_pose(foot, stands.inclination_deg, leans, lifted_m=stands.foot_m)
        upright = upside_down(pose, piece.length_m) if placed.way_up == "distal down" else pose
        self._add(placed, self._solid(key), upright, placed.position)
        self.assumed[key].append("how it is turned around its axis: flat side level")
        toward = level_toward(leans) if leans is not None and stands.cosine > 1e-6 else self._inward(foot)
        for connection in placed.lumens:
            port = self.carrier.ports[connection.port]
            links = tuple(self.department.accessories[name] for name in connection.chain)
            chain = tuple(one for one in links if isinstance(one, ChainLink))
            down = placed.way_up == "distal down"
            feed = Feed(
                key, piece, port, connection.port, chain, Pose(pose.turn, foot), pose, placed.position, down, toward
            )
            drawn, gaps = connection_solids(feed, self.cell_m)
            self.solids += drawn
            self.gaps[key] += gaps

    def _inward(self, at: Floats) -> Floats:
        """Return the level direction from a place to the middle of the carrier."""
        way = np.array([self.carrier.width_m / 2 - at[0], self.carrier.depth_m / 2 - at[1], 0.0])
        length = float(np.linalg.norm(way))
        return way / length if length > 0 else np.array([0.0, 1.0, 0.0])

    def _on_coil(self, placed: PlacedPiece) -> None:
        key = (placed.set, placed.piece)
        place = self.carrier.coil_places[placed.position]
        pose = Pose(_FROM_LEFT, np.array([place.at.x_m, place.at.y_m, place.at.z_m]))
        self._add(placed, cable_solid(self.pieces[key].piece_type, place, self.cell_m), pose, placed.position)
        if place.bars is None or place.bar_width_m is None:
            self.gaps[key].append("what the mandrel of its coil place is made of is not stated")

    def _in_baskets(self) -> None:
        pods: dict[str, list[PlacedPiece]] = defaultdict(list)
        areas: dict[str, list[PlacedPiece]] = defaultdict(list)
        for placed in self.load.pieces:
            key = (placed.set, placed.piece)
            area = placed.position if placed.placing is Placing.BASKET else placed.stands_in
            if placed.placing in (Placing.BASKET, Placing.POD, Placing.OPTIC_HOLDER):
                if area is None:
                    self.gaps[key].append("in which basket it stands is not stated")
                else:
                    (pods if placed.placing is Placing.POD else areas)[area].append(placed)
        for area in dict.fromkeys([*areas, *pods]):
            self._one_basket(area, areas[area], pods[area])

    def _one_basket(self, name: str, loose: list[PlacedPiece], small: list[PlacedPiece]) -> None:
        floor = basket_floor(name, self.carrier.basket_areas[name])
        laid = [LaidPiece(one, self._solid((one.set, one.piece))) for one in loose]
        pod = pod_of(self.department)
        owners = dict.fromkeys(one.position for one in small)
        boxes = {f"pod of {owner}": (pod, self.load.pods.get(owner)) for owner in owners if pod is not None}
        places = lay_pieces(floor, laid, self.pieces, boxes)
        self._take(floor, laid, places.poses)
        self.screens += floor.screens
        if any(one.net for one in loose):
            self.screens += self._net(floor, loose)
        for owner in owners:
            inside = [LaidPiece(one, self._solid((one.set, one.piece))) for one in small if one.position == owner]
            corner = places.boxes.get(f"pod of {owner}")
            if pod is None or corner is None:
                for one in inside:
                    self.gaps[one.key].append(f"its pod {NO_ROOM} in {name}")
                continue
            within = pod_floor(f"pod of {owner}", pod, *corner)
            self._take(within, inside, lay_pieces(within, inside, self.pieces, {}).poses)
            self.screens += within.screens

    def _take(self, floor: Floor, laid: list[LaidPiece], poses: Mapping[PieceKey, Pose]) -> None:
        for one in laid:
            self.gaps[one.key] += floor.gaps
            if one.placed.lies is None:
                self.assumed[one.key].append("where it lies: side by side in one layer")
            if one.key in poses:
                self._add(one.placed, one.solid, poses[one.key], floor.name)
            else:
                self.gaps[one.key] += [*one.solid.gaps, f"it {NO_ROOM} in {floor.name}"]

    def _net(self, floor: Floor, loose: list[PlacedPiece]) -> Iterator[Screen]:
        meshes = [one.mesh for one in self.department.accessories.values() if one.kind == "net"]
        if not meshes or meshes[0] is None:
            for one in loose:
                self.gaps[one.set, one.piece].append("what its net is made of is not stated")
            return
        tops = [one.in_carrier.bounds_m[1, 2] for one in self.solids if one.stands_on == floor.name]
        high = max(tops, default=floor.corner_m[2]) + meshes[0].wire_m
        yield floor.net(high, meshes[0])

    def _carrier(self) -> None:
        if self.carrier.mesh is not None:
            self._carrier_from_file(self.carrier.mesh.file)
        elif self.carrier.frame is None:
            self._gap_of_all("pipes and rods of the carrier are not stated")
        else:
            for name, rod in self.carrier.frame.items():
                ends = np.array([[end.x_m, end.y_m, end.z_m] for end in (rod.begins, rod.ends)])
                self._rod(name, ends, rod.width_m)
        used = {placed.position for placed in self.load.pieces if placed.placing is Placing.COIL_RACK}
        for name, place in self.carrier.coil_places.items():
            if name in used:
                self._mandrel(name, place)

    def _caps(self) -> None:
        """Stand caps of stated size on rigid ports; where the end of a hose hangs is not known."""
        for capped in self.load.capped_ports:
            port, cap = self.carrier.ports[capped.port], self.department.accessories[capped.cap]
            stand = port.stand
            points = stand.leans is not None or math.cos(math.radians(stand.inclination_deg)) < 1e-6
            if isinstance(cap, Cap) and cap.outer_m and cap.length_m and port.hose is None and points:
                radius, foot = cap.outer_m / 2, np.array([port.at.x_m, port.at.y_m, port.at.z_m])
                profile = [(0.0, 0.0), (radius, 0.0), (radius, cap.length_m), (0.0, cap.length_m)]
                mesh = turned(profile, [Zone(cap.name, sided=True)] * 3, self.cell_m)
                pose = standing_pose(foot, stand.inclination_deg, stand.leans)
                self.solids.append(PlacedSolid(Role.CARRIER, cap.name, mesh, pose, None, capped.port))

    def _carrier_from_file(self, file: str) -> None:
        if file not in self.meshes:
            self._gap_of_all(f"the mesh file {file} of the carrier is not at hand")
            return
        name = self.carrier.name
        mesh = of_triangles(*self.meshes[file], Zone(name, sided=True), math.inf)
        self.solids.append(PlacedSolid(Role.CARRIER, name, mesh, Pose(np.eye(3), np.zeros(3)), None, name))

    def _gap_of_all(self, words: str) -> None:
        for key in self.pieces:
            self.gaps[key].append(words)

    def _mandrel(self, name: str, place: CoilPlace) -> None:
        if place.bars is None or place.bar_width_m is None:
            return
        radius = place.mandrel_diameter_m / 2 - place.bar_width_m / 2
        for angle in np.linspace(0.0, 2 * np.pi, place.bars, endpoint=False):
            at = np.array([place.at.x_m, place.at.y_m + radius * np.cos(angle), place.at.z_m + radius * np.sin(angle)])
            ends = np.stack([at, at + np.array([place.turns * place.pitch_m, 0.0, 0.0])])
            self._rod(f"mandrel {name}", ends, place.bar_width_m, name)

    def _rod(self, name: str, ends: Floats, width_m: float, holds: str = "") -> None:
        mesh = wire(ends, np.full(2, width_m / 2), [Zone(name, sided=True)], self.cell_m, close=False)
        pose = Pose(np.eye(3), np.zeros(3))
        self.solids.append(PlacedSolid(Role.CARRIER, name, mesh, pose, None, name, holds=holds))
