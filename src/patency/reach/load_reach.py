"""Everything geometry and jets say of one load, computed together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patency.reach.arms import Arms, arms_of_load, free_jets_of_load
from patency.reach.checks import faults_of_arrangement
from patency.reach.jets.casting import RayScene
from patency.reach.jets.strikes import Strikes, strikes_of_load
from patency.reach.moving import moved_by_jets
from patency.reach.solids.load_solids import solids_of_load

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from patency.catalogue import Department
    from patency.load import Load
    from patency.reach.faults import Fault
    from patency.reach.jets.inputs import JetSampling
    from patency.reach.solids.load_solids import Triangles
    from patency.reach.solids.placed import Arranged, PieceKey


@dataclass(frozen=True, eq=False)
class LoadReach:
    """What geometry and jets say of one load.

    Parameters
    ----------
    arranged
        The load as solids.
    arms
        The arms with their flow in this load.
    strikes
        What the jets strike; None where something about the arms is not known.
    faults
        Rules that pieces break as they are placed.
    """

    arranged: Arranged
    arms: Arms
    strikes: Strikes | None
    faults: tuple[Fault, ...]

    def gaps(self, piece: PieceKey) -> tuple[str, ...]:
        """Return what is not known and had to be to tell what the jets strike of a piece.

        Parameters
        ----------
        piece
            Set and piece.

        Returns
        -------
        tuple[str, ...]
            In words; empty where nothing is missing.
        """
        return (*self.arranged.gaps.get(piece, ()), *self.arms.gaps)


def reach_of_load(
    department: Department,
    load: Load,
    flows_m3_s: Mapping[str, float],
    temperature_c: float,
    meshes: Mapping[str, Triangles] | None = None,
    sampling: JetSampling | None = None,
    open_ports_m3_s: Mapping[str, float] | None = None,
    forces_times: float = 1.0,
) -> LoadReach:
    """Draw a load, check its places and compute what the jets strike.

    Parameters
    ----------
    department
        The department.
    load
        The load.
    flows_m3_s
        Arm to its flow in this very load [m³/s], at the lower end of its interval.
    temperature_c
        Temperature of the water at that flow [°C].
    meshes
        Name of a mesh file to its triangles in metres.
    sampling
        How finely; the default where left out.
    open_ports_m3_s
        Port that is left open to its flow in this very load [m³/s], at the lower end of its interval; the jet of one
        that is left out strikes nothing.
    forces_times
        By how much jets can push more than at these flows.

    Returns
    -------
    LoadReach
        What can be told; what is missing stands in its gaps.

    Raises
    ------
    KeyError
        When the load names something the department does not have.
    """
    kind = department.machine_kinds[load.machine_kind]
    arranged = solids_of_load(department, load, meshes)
    free = free_jets_of_load(department.carriers[load.carrier], open_ports_m3_s or {})
    arms = replace(arms_of_load(kind, flows_m3_s, temperature_c), free=free, forces_times=forces_times)
    faults = faults_of_arrangement(arranged, kind, department.limits.load)
    strikes = None if arms.gaps else strikes_of_load(arranged, arms, sampling)
    faults += moved_by_jets(load, strikes, department.limits.load)
    return LoadReach(arranged, arms, strikes, tuple(faults))


def held_bytes(found: Iterable[LoadReach]) -> int:
    """Return how much memory some loads as computed hold together.

    Parameters
    ----------
    found
        What was computed; several may be one load with pieces moved, and share most of it.

    Returns
    -------
    int
        Bytes of the samples of the jets, nearly all there is; what several share counts once.
    """
    strikes = [one.strikes for one in found if one.strikes]
    parts = {id(part): part for one in strikes for piece in one.pieces.values() for part in piece.samples}
    arrays: dict[int, int] = {}
    for part in parts.values():
        arrays |= part.nbytes_of
    return sum(arrays.values())


def without_samples(found: LoadReach) -> LoadReach:
    """Return a load as computed without what a move would need, which is nearly all of its memory.

    Parameters
    ----------
    found
        What was computed.

    Returns
    -------
    LoadReach
        What is struck of each piece can be read from it, nothing more.
    """
    if found.strikes is None:
        return found
    return replace(found, strikes=replace(found.strikes.without_samples(), scene=RayScene(())))
