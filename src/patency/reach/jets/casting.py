"""Rays against triangles. The one place of the room that knows the ray caster, imported only on use.

The ray caster works in single precision: about 0.1 µm at the size of a chamber. Rays start a little off their surface,
and places count from the middle of the scene.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach.solids.mesh import Floats, Integers

OFFSET_M = 2e-5
"""How far off its surface a ray starts [m]: 200 times the rounding of single precision across a chamber."""


class RayScene:
    """Triangles in which rays look for the first one they meet."""

    def __init__(self, bodies: Sequence[tuple[Floats, Integers]]) -> None:
        """Build the scene.

        Parameters
        ----------
        bodies
            Vertices [vertex, 3] in metres and faces [face, 3] of each body.
        """
        from embreex.mesh_construction import TriangleMesh
        from embreex.rtcore_scene import EmbreeScene

        places = [vertices for vertices, _ in bodies]
        starts = np.cumsum([0, *(len(one) for one in places)])
        whole = np.concatenate(places) if places else np.zeros((0, 3))
        corners = [faces + start for (_, faces), start in zip(bodies, starts, strict=False)]
        counts = [len(one) for one in corners]
        self.middle_m: Floats = (whole.min(axis=0) + whole.max(axis=0)) / 2 if len(whole) else np.zeros(3)
        self.body_of_face = np.repeat(np.arange(len(corners)), counts).astype(np.int32)
        self._first_face = np.cumsum([0, *counts])
        self._scene: Any = None
        if len(whole):
            scene = EmbreeScene()
            points = (whole - self.middle_m).astype(np.float32)
            self._kept = TriangleMesh(scene, points, np.concatenate(corners).astype(np.int32))
            self._scene = scene
            # The library sorts the triangles when the first ray is cast: here, before threads share the scene.
            self.first_met(np.zeros((1, 3)), np.ones((1, 3)))

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

    def _run(self, origins: NDArray[np.float32], ways: NDArray[np.float32]) -> NDArray[np.int32]:
        if self._scene is None:
            return np.full(len(origins), -1, dtype=np.int32)
        met: NDArray[np.int32] = self._scene.run(origins, ways, dists=np.ones(len(ways), dtype=np.float32))
        return met

    def bodies_along(self, origins: NDArray[np.float32], ways: NDArray[np.float32]) -> NDArray[np.int32]:
        """Find which body stands on ways given in single precision from the middle of the scene.

        Parameters
        ----------
        origins
            [ray, 3] where each begins, from ``middle_m`` [m].
        ways
            [ray, 3] how far it goes [m].

        Returns
        -------
        numpy.ndarray
            [ray] number of the body met first; -1 where the way is free.
        """
        faces = self._run(origins, ways)
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
        return np.asarray(faces - self._first_face[self.body_of_face[faces]], dtype=np.int64)
