"""Writes a load as triangles with the class of each patch, for a view that turns."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING, Any

from patency.reach import looks_of_body

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from patency.reach import LoadReach


def scene_document(found: LoadReach) -> dict[str, Any]:
    """Return a load as triangles with their classes, for a view that turns.

    Parameters
    ----------
    found
        What was computed of the load.

    Returns
    -------
    dict
        Lengths in metres in the carrier's axes. ``meshes``: ``vertices`` (float32), ``faces`` and ``patch_of``
        (uint32), all in base64, in a body's own axes; ``bodies`` as in ``body_documents``; ``screens`` by a corner
        and two edges, ``arms`` by centre, radius and thickness, their ``jets`` by distance from the axis and direction.
    """
    meshes: dict[bytes, int] = {}
    listed: list[dict[str, str]] = []
    bodies = body_documents(found)
    for solid, body in zip(found.arranged.solids, bodies, strict=True):
        parts = {
            "vertices": solid.mesh.vertices.astype("<f4"),
            "faces": solid.mesh.faces.astype("<u4"),
            "patch_of": solid.mesh.patch_of.astype("<u4"),
        }
        content = b"".join(part.tobytes() for part in parts.values())
        if content not in meshes:
            meshes[content] = len(listed)
            listed.append({name: _text(part) for name, part in parts.items()})
        body["mesh"] = meshes[content]
    return {
        "meshes": listed,
        "bodies": bodies,
        "screens": [
            [one.corner_m.tolist(), one.along_m.tolist(), one.across_m.tolist()] for one in found.arranged.screens
        ],
        "arms": [
            {
                "name": arm.name,
                "centre": list(arm.centre_m),
                "radius": arm.radius_m,
                "thickness": arm.swept_thickness_m,
                "jets": [[jet.from_axis_m, *jet.direction] for jet in arm.jets],
            }
            for arm in found.arms.arms
        ],
    }


def changed_bodies(before: LoadReach, found: LoadReach) -> dict[int, dict[str, Any]]:
    """Return the bodies that stand elsewhere, or of which other patches are struck, than before.

    Parameters
    ----------
    before
        The load before.
    found
        The load now.

    Returns
    -------
    dict[int, dict]
        Number of the body to what ``body_documents`` says of it.
    """
    asked = [number for number in range(len(found.arranged.solids)) if not _same(before, found, number)]
    both = zip(asked, body_documents(before, asked), body_documents(found, asked), strict=True)
    return {number: now for number, was, now in both if now != was}


def _same(before: LoadReach, found: LoadReach, number: int) -> bool:
    """Tell whether a body and what was computed of it were taken over as they are."""
    was, now = before.arranged.solids[number], found.arranged.solids[number]
    key = now.piece or ("", "")
    struck = [one.strikes.pieces.get(key) if one.strikes else None for one in (before, found)]
    return was is now and struck[0] is struck[1]


def body_documents(found: LoadReach, numbers: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return bodies of a load by their place and the class of their patches.

    Parameters
    ----------
    found
        What was computed of the load.
    numbers
        Numbers of the bodies; all where left out.

    Returns
    -------
    list[dict]
        ``words``, ``role``, ``set`` (empty for parts of the carrier), ``turn`` (nine numbers, row by row), ``shift``,
        and ``looks`` (uint8 for each patch, ``Look``, in base64).
    """
    asked = range(len(found.arranged.solids)) if numbers is None else numbers
    return [
        {
            "words": solid.words,
            "role": solid.role.value,
            "set": solid.piece[0] if solid.piece else "",
            "turn": solid.pose.turn.ravel().tolist(),
            "shift": solid.pose.shift_m.tolist(),
            "looks": _text(looks_of_body(found, number)),
        }
        for number, solid in ((number, found.arranged.solids[number]) for number in asked)
    ]


def _text(values: NDArray[Any]) -> str:
    return base64.b64encode(values.tobytes()).decode("ascii")
