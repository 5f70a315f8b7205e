"""Reads the mesh files that a department's pieces take their shape from. The one place that knows the mesh library."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from patency.errors import InputError, InputErrors

if TYPE_CHECKING:
    from pathlib import Path

    from patency.catalogue import Department, MeshFile
    from patency.reach import Triangles

_ENDINGS = (".stl", ".ply", ".glb")
_METRES = {"mm": 0.001, "m": 1.0}


def read_meshes(department: Department, folder: Path) -> dict[str, Triangles]:
    """Read every mesh file that a piece of a department names.

    Parameters
    ----------
    department
        The department.
    folder
        Its folder.

    Returns
    -------
    dict[str, Triangles]
        Name of the file to its triangles in metres.

    Raises
    ------
    InputErrors
        With every file that is not there, cannot be read or does not bound a closed body.
    """
    named = {
        piece.mesh.file: piece.mesh
        for instrument in department.instruments.values()
        for piece in instrument.pieces.values()
        if piece.mesh is not None
    }
    found, faults = {}, []
    for name, file in named.items():
        try:
            found[name] = _read(file, folder)
        except InputError as error:
            faults.append(error)
    if faults:
        raise InputErrors(faults)
    return found


def _read(file: MeshFile, folder: Path) -> Triangles:
    path = folder / file.file
    if path.suffix.lower() not in _ENDINGS or folder.resolve() not in path.resolve().parents:
        raise InputError(file.file, "not a mesh file of this folder", "a name that ends in .stl, .ply or .glb")
    if not path.is_file():
        raise InputError(file.file, "no such file", "a file in the department's folder")
    mesh = _load(path, file.file)
    if not mesh.is_watertight or mesh.volume <= 0:
        raise InputError(file.file, "its triangles do not bound a closed body", "a closed surface that faces outward")
    return np.asarray(mesh.vertices) * _METRES[file.unit], np.asarray(mesh.faces, dtype=np.int64)


def _load(path: Path, name: str) -> Any:  # noqa: ANN401 - whatever the library makes of the file
    import trimesh

    try:
        return trimesh.load(path, force="mesh", process=True)
    except Exception as error:  # each format of the library fails in its own way
        raise InputError(name, "cannot be read as a mesh", "an intact STL, PLY or GLB file") from error
