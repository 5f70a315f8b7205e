"""A hundred good arrangements, none refused, and a hundred and sixty broken on purpose, all found."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from patency.catalogue import LoadLimits
from patency.quantities import Limit
from patency.reach import (
    Arms,
    Arranged,
    Fault,
    Jet,
    JetSampling,
    PlacedSolid,
    Pose,
    Role,
    Rule,
    Screen,
    Side,
    TurningArm,
    faults_of_arrangement,
    lying_pose,
    movable,
    shadowed_zones,
    strikes_of_load,
)
from patency.reach.solids.bodies import turned
from patency.reach.solids.chamber import chamber_around
from patency.reach.solids.mesh import Mesh, Zone
from patency.reach.solids.pieces import piece_solid
from tests.reach.cast import carrier, machine
from tests.reach.drawn import jet, part, shape

if TYPE_CHECKING:
    from collections.abc import Callable


CELL = 0.080
ROUGHLY = JetSampling(angle_steps=18, finer=4, reflection_rays=4)
KIND = machine(
    {"height": 200.0, "radius": 200.0, "centre_x": 120.0, "centre_y": 120.0},
    {"height": -120.0, "radius": 200.0, "centre_x": 120.0, "centre_y": 120.0},
)
CHAMBER = chamber_around(KIND, carrier().model_copy(update={"height_m": 0.3}))
LIMITS = LoadLimits(
    arm_clearance=Limit(0.010, "m", "invented"),
    contact_area=Limit(2e-6, "m2", "invented"),
    kept_water=Limit(5e-9, "m3", "invented"),
)
OVER = np.diag([1.0, -1.0, -1.0])


@dataclass
class Bench:
    """Four pieces of a load that can still be changed: mesh, pose, mass, whether a net lies over it."""

    random: np.random.Generator
    meshes: dict[str, Mesh]
    poses: dict[str, Pose]
    masses: dict[str, float]
    jets: tuple[Jet, ...]
    only_below: bool = False
    sampling: JetSampling = ROUGHLY


def mesh_of(*bodies: dict[str, object], **more: object) -> Mesh:
    """Return a roughly drawn piece."""
    drawn = piece_solid(shape(*bodies, **more), 0.020).mesh
    assert drawn is not None
    return drawn


def finely_drawn(body: dict[str, object]) -> Mesh:
    """Return a piece of one body with patches smaller than a narrow jet."""
    drawn = piece_solid(shape(body), 0.002).mesh
    assert drawn is not None
    return drawn


def forceps(opening: float) -> Mesh:
    """Return a rod with a jaw."""
    return mesh_of(part("rod", 45, 5), part("jaw", 15, 5, opening=f"{opening} °"))


def good(seed: int) -> Bench:
    """Arrange a cup with its opening down, open forceps, a block and a rod in cells of their own."""
    random = np.random.default_rng(seed)
    cup = {"name": "seat", "opens": "proximal", "width": "12 mm", "depth": "10 mm"}
    meshes = {
        "cup": mesh_of(part("rod", float(random.uniform(25, 40)), 20), cups=[cup]),
        "forceps": forceps(float(random.uniform(35, 70))),
        "block": mesh_of(part("block", 45, 18, thickness="6 mm")),
        "rod": mesh_of(part("rod", float(random.uniform(40, 60)), 8)),
    }
    cells = random.permutation(9)[:4]
    poses = {}
    for name, cell in zip(meshes, cells, strict=True):
        corner = np.array([cell % 3 * CELL + 0.008, cell // 3 * CELL + 0.008, 0.001])
        corner[:2] += random.uniform(0.0, 0.006, 2)
        if name == "cup":
            poses[name] = Pose(np.eye(3), corner + np.array([0.02, 0.02, 0.0]))
        else:
            poses[name] = lying_pose(meshes[name], corner, float(random.choice([0.0, 90.0])))
    masses = {name: float(random.uniform(0.08, 0.2)) for name in meshes}
    jets = tuple(
        jet(elevation, out=out, half_spread=18.0, speed=6.0, flow=7e-5)
        for out, elevation in ((-0.18, 80), (-0.13, 60), (-0.08, 45), (-0.03, 70), (0.05, 55), (0.10, 75), (0.16, 50))
    )
    return Bench(random, meshes, poses, masses, jets)


def findings(bench: Bench) -> tuple[list[Fault], dict[str, list[str]]]:
    """Return the faults found and the shadowed zones of each piece."""
    solids = tuple(
        PlacedSolid(Role.PIECE, name, mesh, bench.poses[name], ("S", name), "B1", mass_kg=bench.masses[name])
        for name, mesh in bench.meshes.items()
    )
    along, across = np.diag([0.24, 0.24, 0.0])[:2]
    floor = Screen(np.zeros(3), along, across, 0.001, 0.008, "floor of basket B1", "B1", Side.FLOOR)
    load = Arranged(solids, (floor,), {}, {}, CHAMBER)
    down = tuple(replace(one, direction=(one.direction[0], 0.0, -one.direction[2])) for one in bench.jets)
    arms = Arms(
        (
            TurningArm("above", (0.12, 0.12, 0.2), 0.2, 0.04, 30.0, () if bench.only_below else down),
            TurningArm("below", (0.12, 0.12, -0.12), 0.2, 0.04, 30.0, bench.jets),
        ),
        990.0,
        (),
    )
    strikes = strikes_of_load(load, arms, bench.sampling)
    faults = faults_of_arrangement(load, KIND, LIMITS)
    faults += movable(strikes, dict.fromkeys(strikes.pieces, False))
    shadowed = {key[1]: [zone.name for zone in shadowed_zones(one)] for key, one in strikes.pieces.items()}
    return faults, shadowed


def lifted(pose: Pose, by: float) -> Pose:
    """Return a pose higher by some metres."""
    return Pose(pose.turn, pose.shift_m + np.array([0.0, 0.0, by]))


def arm_strikes(bench: Bench) -> str:
    name = str(bench.random.choice(["forceps", "block", "rod"]))
    bench.poses[name] = lifted(bench.poses[name], float(bench.random.uniform(0.168, 0.19)))
    return name


def cup_up(bench: Bench) -> str:
    turn, shift = bench.poses["cup"]
    height = float(bench.meshes["cup"].bounds_m[1, 2])
    bench.poses["cup"] = Pose(turn @ OVER, shift + np.array([0.0, 0.0, height]))
    return "cup"


def part_under_part(bench: Bench) -> str:
    box = bench.meshes["block"].moved(*bench.poses["block"]).bounds_m
    bench.meshes["rod"] = bench.meshes["block"]
    bench.poses["rod"] = lying_pose(bench.meshes["rod"], np.array([*box[0, :2] + 0.004, box[1, 2] + 5e-5]), 0.0)
    return "rod"


def jaw_closed_behind_a_sleeve(bench: Bench) -> str:
    bench.meshes["forceps"] = forceps(0.3)
    behind_a_sleeve(bench)
    return "forceps"


def behind_a_sleeve(bench: Bench) -> None:
    """Push a short sleeve over the rod up to its hinge; behind that alone an open jaw is still struck."""
    pose = lifted(bench.poses["forceps"], 0.005)
    bench.poses["forceps"] = pose
    ring = [(0.0045, 0.030), (0.006, 0.030), (0.006, 0.0445), (0.0045, 0.0445), (0.0045, 0.030)]
    bench.meshes["sleeve"] = turned(ring, [Zone("sleeve", sided=True)] * 4, 0.006)
    bench.poses["sleeve"] = pose
    bench.masses["sleeve"] = 0.05


def light_part_free(bench: Bench) -> str:
    name = str(bench.random.choice(["forceps", "block", "rod"]))
    bench.masses[name] = float(bench.random.uniform(0.0001, 0.0008))
    return name


def end_lifted(bench: Bench) -> str:
    """Let one narrow jet pass under one end of a block that weighs more than it pushes."""
    turn, shift = bench.poses["block"]
    low, high = bench.meshes["block"].bounds_m
    along = int(np.ptp([low, high], axis=0).argmax())
    end = (low + high) / 2
    end[along] = (low, high)[int(bench.random.integers(2))][along] * 0.7 + end[along] * 0.3
    out = float(np.hypot(*((turn @ end + shift)[:2] - 0.12)))
    bench.jets = (jet(out=out, half_spread=2.0, speed=6.0, flow=7e-5),)
    bench.only_below, bench.sampling = True, replace(ROUGHLY, finer=32)
    bench.meshes["block"] = finely_drawn(part("block", 45, 18, thickness="6 mm"))
    weighs = bench.random.uniform(1.1, 1.2) * 0.766 * 990 * 7e-5 * 5.8
    bench.masses["block"] = float(weighs) / 9.80665
    return "block"


def pokes_through_its_basket(bench: Bench) -> str:
    name = str(bench.random.choice(["forceps", "block", "rod"]))
    box = bench.meshes[name].moved(*bench.poses[name]).bounds_m
    ways = {0: -box[0, 0], 1: -box[0, 1], 2: -box[0, 2]}  # over the left edge, over the front edge, through the floor
    axis = int(bench.random.choice([0, 1, 2]))
    shift = np.zeros(3)
    shift[axis] = ways[axis] - bench.random.uniform(0.001, 0.004)
    bench.poses[name] = Pose(bench.poses[name].turn, bench.poses[name].shift_m + shift)
    return name


def reaches_out_of_the_chamber(bench: Bench) -> str:
    """Push a piece through a wall of the chamber, whose place nobody states: the carrier and the arms are in it."""
    name = str(bench.random.choice(["forceps", "block", "rod"]))
    box = bench.meshes[name].moved(*bench.poses[name]).bounds_m
    axis, end = (int(bench.random.integers(top)) for top in (3, 2))
    walls = ((-0.100, 0.520), (-0.100, 0.520), (-0.300, 0.460))
    shift = np.zeros(3)
    shift[axis] = walls[axis][end] - box[end, axis] + (2 * end - 1) * bench.random.uniform(0.001, 0.03)
    bench.poses[name] = Pose(bench.poses[name].turn, bench.poses[name].shift_m + shift)
    return name


# How each arrangement is broken, to what has to be found of the piece whose name the break returns.
BROKEN: dict[Callable[[Bench], str], Rule | str] = {
    arm_strikes: Rule.SWEEP,
    cup_up: Rule.KEEPS_WATER,
    part_under_part: Rule.CONTACT,
    jaw_closed_behind_a_sleeve: "inner jaw",
    light_part_free: Rule.MOVED,
    end_lifted: Rule.MOVED,
    pokes_through_its_basket: Rule.POKES,
    reaches_out_of_the_chamber: Rule.OUTSIDE,
}


@pytest.mark.parametrize("tens", range(10))
def test_no_good_arrangement_is_refused(tens: int) -> None:
    for seed in range(10 * tens, 10 * tens + 10):
        faults, shadowed = findings(good(seed))
        assert faults == [], seed
        assert not [name for name in shadowed["forceps"] if name.startswith("inner jaw")], seed


@pytest.mark.parametrize("breaks", BROKEN, ids=lambda function: function.__name__)
@pytest.mark.parametrize("half", range(2))
def test_every_arrangement_broken_on_purpose_is_found(breaks: Callable[[Bench], str], half: int) -> None:
    for seed in range(10 * half, 10 * half + 10):
        bench = good(seed)
        name = breaks(bench)
        faults, shadowed = findings(bench)
        wanted = BROKEN[breaks]
        if isinstance(wanted, Rule):
            assert (wanted, name) in {(fault.rule, fault.piece[1]) for fault in faults}, seed
        else:
            assert any(zone.startswith(wanted) for zone in shadowed[name]), seed


def test_the_same_sleeve_behind_an_open_jaw_leaves_it_struck() -> None:
    for seed in range(10):
        bench = good(seed)
        behind_a_sleeve(bench)
        faults, shadowed = findings(bench)
        assert faults == [], seed
        assert not [name for name in shadowed["forceps"] if name.startswith("inner jaw")], seed
