"""Reads the mesh files that pieces and carriers take their shape from. The one place that knows the mesh library."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from patency.errors import InputError, InputErrors

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from patency.catalogue import Carrier, Department, MeshFile, PieceType
    from patency.reach import Triangles

    Floats = NDArray[np.float64]

_ENDINGS = (".stl", ".ply", ".glb")
_METRES = {"mm": 0.001, "m": 1.0}
_MOST_BYTES = 64_000_000
_MOST_TRIANGLES = 200_000  # about as many as the whole of a full load has at patches of 4 mm
_LARGEST_M = 2.0  # larger than any chamber of a washer-disinfector for instruments (common practice)
_BEYOND_M = 0.01  # how far handles, wheels and rounding may lie beyond the stated size of a carrier
_LEAST_SHARE = 0.5  # of a stated size: a shape smaller than that is in another unit, or shows something else


def read_meshes(department: Department, folder: Path) -> dict[str, Triangles]:
    """Read every mesh file that a piece or a carrier of a department names.

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
        With every file that is not there, cannot be read, is named with two units, is too large to compute with, does
        not bound a closed body, is not about as long as the piece it shows, lies elsewhere than the carrier it shows
        or is much smaller.
    """
    carriers = [one for one in department.carriers.values() if one.mesh is not None]
    pieces = [one for kind in department.instruments.values() for one in kind.pieces.values() if one.mesh is not None]
    shapes = [one for one in (*(piece.mesh for piece in pieces), *(carrier.mesh for carrier in carriers)) if one]
    found: dict[str, Triangles] = {}
    faults = []
    for name, file in {one.file: one for one in shapes}.items():
        try:
            _in_one_unit(file, shapes)
            found[name] = _read(file, folder)
            for piece in pieces:
                if piece.mesh is not None and piece.mesh.file == name:
                    _as_long_as(piece, found[name][0])
            for carrier in carriers:
                if carrier.mesh is not None and carrier.mesh.file == name:
                    _lies_in(carrier, found[name][0])
        except InputError as error:
            faults.append(error)
    if faults:
        raise InputErrors(faults)
    return found


def _in_one_unit(file: MeshFile, shapes: list[MeshFile]) -> None:
    if any(one.unit != file.unit for one in shapes if one.file == file.file):
        raise InputError(file.file, "is named with unit mm and with unit m", "one unit for one file")


def _read(file: MeshFile, folder: Path) -> Triangles:
    path = folder / file.file
    if path.suffix.lower() not in _ENDINGS or folder.resolve() not in path.resolve().parents:
        raise InputError(file.file, "not a mesh file of this folder", "a name that ends in .stl, .ply or .glb")
    if not path.is_file():
        raise InputError(file.file, "no such file", "a file in the department's folder")
    if path.stat().st_size > _MOST_BYTES:
        raise InputError(
            file.file, f"{path.stat().st_size / 1e6:.0f} MB", f"a file of at most {_MOST_BYTES // 10**6} MB"
        )
    mesh = _load(path, file.file)
    if len(mesh.faces) > _MOST_TRIANGLES:
        most = f"at most {_MOST_TRIANGLES}: jets are computed to patches of some millimetres"
        raise InputError(file.file, f"{len(mesh.faces)} triangles", most)
    if not mesh.is_watertight or mesh.volume <= 0:
        raise InputError(file.file, "its triangles do not bound a closed body", "a closed surface that faces outward")
    vertices = np.asarray(mesh.vertices) * _METRES[file.unit]
    size = float(np.ptp(vertices, axis=0).max())
    if size > _LARGEST_M:
        raise InputError(file.file, f"{size:.4g} m large", f"at most {_LARGEST_M:g} m; is its unit {file.unit}?")
    return vertices, np.asarray(mesh.faces, dtype=np.int64)


def _as_long_as(piece: PieceType, vertices: Floats) -> None:
    """Refuse a shape of another length than the outline states: another unit, other axes, or another piece."""
    length = float(np.ptp(vertices[:, 2]))
    if not _LEAST_SHARE * piece.length_m <= length <= piece.length_m / _LEAST_SHARE:
        expected = f"about the {1000 * piece.length_m:.4g} mm of the outline of {piece.name}, z along the axis"
        raise InputError(piece.mesh.file if piece.mesh else piece.name, f"{1000 * length:.4g} mm long", expected)


def _lies_in(carrier: Carrier, vertices: Floats) -> None:
    """Refuse a shape beyond the carrier's stated size or much smaller: other axes, another origin, another unit."""
    sizes = (("x", carrier.width_m), ("y", carrier.depth_m), ("z", carrier.height_m))
    for axis, (name, size) in enumerate(sizes):
        low, high = float(vertices[:, axis].min()), float(vertices[:, axis].max())
        beyond = low < -_BEYOND_M or high > size + _BEYOND_M
        # A speck stands in no jet's way; how high a rack is built over its rails is free.
        small = name != "z" and high - low < _LEAST_SHARE * size
        if beyond or small:
            what = f"reaches along {name} from {1000 * low:.4g} to {1000 * high:.4g} mm"
            within = "within" if beyond else "at least half of"
            axes = "x from the left, y from the front, z up from the rails"
            expected = f"{within} {carrier.name}, 0 to {1000 * size:.0f} mm; {axes}"
            raise InputError(carrier.mesh.file if carrier.mesh else carrier.name, what, expected)


def _load(path: Path, name: str) -> Any:  # noqa: ANN401 - whatever the library makes of the file
    import trimesh

    try:
        return trimesh.load(path, force="mesh", process=True)
    except Exception as error:  # each format of the library fails in its own way
        raise InputError(name, "cannot be read as a mesh", "an intact STL, PLY or GLB file") from error
