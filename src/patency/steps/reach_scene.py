"""Writes a load as triangles with the class of each patch, for a view that turns."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING, Any

from patency.reach import looks_of_bodies

if TYPE_CHECKING:
    from collections.abc import Iterator

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
        and two edges, ``arms`` by centre, radius and thickness.
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
    was = body_documents(before)
    return {number: one for number, one in enumerate(body_documents(found)) if one != was[number]}


def body_documents(found: LoadReach) -> list[dict[str, Any]]:
    """Return every body of a load by its place and the class of its patches.

    Parameters
    ----------
    found
        What was computed of the load.

    Returns
    -------
    list[dict]
        ``words``, ``role``, ``set`` (empty for parts of the carrier), ``turn`` (nine numbers, row by row), ``shift``,
        and ``looks`` (uint8 for each patch, ``Look``, in base64).
    """
    return list(_bodies(found))


def _bodies(found: LoadReach) -> Iterator[dict[str, Any]]:
    for solid, (body, looks) in zip(found.arranged.solids, looks_of_bodies(found), strict=True):
        yield {
            "words": body.words,
            "role": body.role.value,
            "set": body.piece[0] if body.piece else "",
            "turn": solid.pose.turn.ravel().tolist(),
            "shift": solid.pose.shift_m.tolist(),
            "looks": _text(looks),
        }


def _text(values: NDArray[Any]) -> str:
    return base64.b64encode(values.tobytes()).decode("ascii")
