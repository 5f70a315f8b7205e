"""Rays against triangles. The one place of the room that knows the ray caster, imported only on use.

The ray caster works in single precision: about 0.1 µm at the size of a chamber. Rays start a little off their surface,
and places count from the middle of the scene.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from patency.reach.jets.machine_code import compiled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach.solids.mesh import Floats, Integers

    Singles = NDArray[np.float32]

OFFSET_M = 2e-5
"""How far off its surface a ray starts [m]: 200 times the rounding of single precision across a chamber."""
_BEHIND_M = 5e-6  # behind the face of a body that is gone a ray goes on: 50 times that rounding
_REBUILT = 0.2  # of all faces: with more that are others a scene of its own costs less


class _Sorted:
    """Triangles as the library has sorted them; it does so at the first ray, before threads share them.

    Rays are asked for on the first part of their ways only, in parts from 0 to 1.
    """

    def __init__(self, points: Singles, faces: Integers) -> None:
        from embreex.mesh_construction import TriangleMesh
        from embreex.rtcore_scene import EmbreeScene

        self._points, self._faces = points, faces.astype(np.int32)
        self._scene: Any = None
        if len(faces):
            self._scene = EmbreeScene()
            self._kept = TriangleMesh(self._scene, points, self._faces)
            self._scene.run(np.zeros((1, 3), dtype=np.float32), np.ones((1, 3), dtype=np.float32))

    def met(self, origins: Singles, ways: Singles, within: Singles) -> NDArray[np.int32]:
        """Return the first face met on each way, -1 for none."""
        if self._scene is None or not len(origins):
            return np.full(len(origins), -1, dtype=np.int32)
        faces: NDArray[np.int32] = self._scene.run(origins, ways, dists=within)
        return faces

    def until(self, met: NDArray[np.int32], origins: Singles, ways: Singles, within: Singles) -> Singles:
        """Return after which part of its way each meets the plane of a face; ``within`` where that is -1.

        The library tells it too, but writes down so much more with it that a ray takes twice as long.
        """
        parts = within.copy()
        compiled("parts_of_ways")(met, self._points, self._faces, origins, ways, parts)
        return parts


class RayScene:
    """Triangles in which rays look for the first one they meet."""

    def __init__(self, bodies: Sequence[tuple[Floats, Integers]], middle_m: Floats | None = None) -> None:
        """Build the scene.

        Parameters
        ----------
        bodies
            Vertices [vertex, 3] in metres and faces [face, 3] of each body.
        middle_m
            [3] from where places count [m]; the middle of the bodies where left out.
        """
        self.bodies = tuple(bodies)
        places = [vertices for vertices, _ in bodies]
        starts = np.cumsum([0, *(len(one) for one in places)])
        whole = np.concatenate(places) if places else np.zeros((0, 3))
        corners = [faces + start for (_, faces), start in zip(bodies, starts, strict=False)]
        counts = [len(one) for one in corners]
        if middle_m is None:
            middle_m = (whole.min(axis=0) + whole.max(axis=0)) / 2 if len(whole) else np.zeros(3)
        self.middle_m: Floats = middle_m
        self.body_of_face = np.repeat(np.arange(len(corners)), counts).astype(np.int32)
        self.first_face = np.cumsum([0, *counts])
        faces = np.concatenate(corners) if corners else np.zeros((0, 3), dtype=np.int64)
        self.sorted = _Sorted((whole - middle_m).astype(np.float32), faces)

    def with_bodies(self, bodies: Sequence[tuple[Floats, Integers]]) -> RayScene:
        """Return the scene of other bodies, most of which are these.

        Parameters
        ----------
        bodies
            As for a new scene. A body whose array of vertices is one of this scene's is taken over as it is.

        Returns
        -------
        RayScene
            It meets what a new scene of these bodies meets; only the others among them are sorted anew.
        """
        known = {id(vertices) for vertices, _ in self.bodies}
        others = sum(len(faces) for vertices, faces in bodies if id(vertices) not in known)
        if others > _REBUILT * len(self.body_of_face):
            return RayScene(bodies)
        return _ChangedScene(self, bodies)

    def of_body(self, number: int) -> RayScene:
        """Return the scene of one body alone.

        Parameters
        ----------
        number
            Number of the body.

        Returns
        -------
        RayScene
            Places count from the same middle.
        """
        return RayScene([self.bodies[number]], self.middle_m)

    def box(self) -> tuple[Floats, Floats]:
        """Return the lowest and the highest place of all bodies from ``middle_m``, no way that meets one left out."""
        if not self.bodies:
            return np.full(3, np.inf), np.full(3, -np.inf)
        places = np.concatenate([vertices for vertices, _ in self.bodies]) - self.middle_m
        return places.min(axis=0) - OFFSET_M, places.max(axis=0) + OFFSET_M

    def first_met(self, begins: Floats, ends: Floats) -> NDArray[np.int32]:
        """Find what stands between pairs of points.

        Parameters
        ----------
        begins
            [ray, 3] one end of each way [m].
        ends
            [ray, 3] the other end [m].

        Returns
        -------
        numpy.ndarray
            [ray] number of the first face met, counted over all bodies; -1 where the way is free.
        """
        origins = (begins - self.middle_m).astype(np.float32)
        return self._run(origins, (ends - begins).astype(np.float32))

    def _run(self, origins: Singles, ways: Singles) -> NDArray[np.int32]:
        return self.sorted.met(origins, ways, np.ones(len(ways), dtype=np.float32))

    def faces_along(self, origins: NDArray[np.float32], ways: NDArray[np.float32]) -> NDArray[np.int32]:
        """Find what stands on ways given in single precision from the middle of the scene.

        Parameters
        ----------
        origins
            [ray, 3] where each begins, from ``middle_m`` [m].
        ways
            [ray, 3] how far it goes [m].

        Returns
        -------
        numpy.ndarray
            [ray] number of the first face met, counted over all bodies; -1 where the way is free.
        """
        return self._run(origins, ways)

    def bodies_of(self, faces: NDArray[np.int32]) -> NDArray[np.int32]:
        """Return the bodies to which faces belong.

        Parameters
        ----------
        faces
            [n] numbers of faces counted over all bodies; -1 for none.

        Returns
        -------
        numpy.ndarray
            [n] number of the body; -1 for none.
        """
        found = np.full(len(faces), -1, dtype=np.int32)
        found[faces >= 0] = self.body_of_face[faces[faces >= 0]]
        return found

    def face_within_body(self, faces: NDArray[np.int32]) -> NDArray[np.int64]:
        """Return the number of faces within their own body.

        Parameters
        ----------
        faces
            [n] numbers of faces counted over all bodies.

        Returns
        -------
        numpy.ndarray
            [n] numbers counted within the body.
        """
        return np.asarray(faces - self.first_face[self.body_of_face[faces]], dtype=np.int64)


class _ChangedScene(RayScene):
    """A scene some of whose bodies are gone, and other bodies beside it.

    Rays that meet a body that is gone go on behind it.
    """

    def __init__(self, root: RayScene, bodies: Sequence[tuple[Floats, Integers]]) -> None:
        self.bodies, self.middle_m = tuple(bodies), root.middle_m
        self._root = root
        place = {id(vertices): number for number, (vertices, _) in enumerate(root.bodies)}
        at = [place.pop(id(vertices), -1) for vertices, _ in bodies]
        self._added = added = [number for number, where in enumerate(at) if where < 0]
        self._beside = RayScene([bodies[number] for number in added], root.middle_m)
        self._box = self._beside.box()
        number_of = np.full(len(root.bodies), -1, dtype=np.int32)
        firsts = np.zeros(len(bodies), dtype=np.int64)
        for number, where in enumerate(at):
            if where >= 0:
                number_of[where], firsts[number] = number, root.first_face[where]
        self._count = len(root.body_of_face)
        firsts[added] = self._count + self._beside.first_face[:-1]
        beside = np.array(added, dtype=np.int32)[self._beside.body_of_face]
        self.body_of_face = np.concatenate([number_of[root.body_of_face], beside])
        self.first_face = firsts

    def with_bodies(self, bodies: Sequence[tuple[Floats, Integers]]) -> RayScene:
        return self._root.with_bodies(bodies)

    def of_body(self, number: int) -> RayScene:
        return self._beside if self._added == [number] else super().of_body(number)

    def _run(self, origins: Singles, ways: Singles) -> NDArray[np.int32]:
        faces, within = np.full(len(ways), -1, dtype=np.int32), np.ones(len(ways), dtype=np.float32)
        asked = np.arange(len(origins))
        passes = np.empty(len(ways), dtype=np.bool_)
        compiled("rays_near")(origins, ways, *self._box, passes)
        near = slice(None) if passes.all() else np.flatnonzero(passes)
        rays = (origins[near], ways[near], within[near])
        met = self._beside.sorted.met(*rays)
        within[near] = self._beside.sorted.until(met, *rays)
        faces[near] = np.where(met >= 0, met + np.int32(self._count), met)
        first = self._root.sorted.met(origins, ways, within)
        while True:
            gone = np.empty(len(first), dtype=np.int64)
            count = compiled("told_apart")(first, self.body_of_face, asked, faces, gone)
            if not count:
                return faces
            rows = gone[:count]
            asked, origins, ways, within = asked[rows], origins[rows], ways[rows], within[rows]
            at = self._root.sorted.until(first[rows], origins, ways, within)
            at = at + _BEHIND_M / np.maximum(np.linalg.norm(ways, axis=1), _BEHIND_M)
            origins, within = (origins + at[:, None] * ways).astype(np.float32), (within - at).astype(np.float32)
            first = np.where(within > 0, self._root.sorted.met(origins, ways, within), np.int32(-1))
