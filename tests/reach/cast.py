"""Pieces, ports and carriers that the tests of this room arrange; lengths in millimetres, all invented."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from patency.catalogue import Carrier, CoilPlace, LoadLimits, MachineKind, PieceType, Port, Stage, StageKind
from patency.quantities import Limit
from patency.reach import Standing

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

LUER = {"family": "luer", "gender": "male"}
DAY = date(2026, 3, 2)


def mm(length: float) -> str:
    """Write a length as a catalogue does."""
    return f"{length:.9f} mm"


def limit(value: float, unit: str) -> Limit:
    """Return a limit as a site could state it."""
    return Limit(value, unit, "invented for the test")


LIMITS = LoadLimits(
    drain_angle=limit(15.0, "deg"),
    arm_clearance=limit(0.010, "m"),
    hose_bend_ratio=limit(4.0, "1"),
    tipping_reserve=limit(1.5, "1"),
)


def piece(*bodies: tuple[str, float, float], mass_g: object = 50.0, **more: object) -> PieceType:
    """Return a piece drawn of (form, length, width) from its proximal end; its mass is not known where that is None."""
    drawn = [{"form": form, "length": mm(length), "width": mm(width)} for form, length, width in bodies]
    facts: dict[str, object] = {"name": "piece", "placing": "basket", "outline": drawn, "way_up": "distal up"}
    facts |= {"states": {}, "needs_net": False}
    if mass_g is not None:
        facts["mass"] = f"{mass_g!r} g"
    return PieceType.model_validate({**facts, **more})


def bored(*bodies: tuple[str, float, float], bore: float = 4.0, **more: object) -> PieceType:
    """Return a piece with one bore along all its length."""
    length = sum(body[1] for body in bodies)
    segment = {"shape": "bore", "bore": mm(bore), "length": mm(length)}
    lumen = {"fed_by": "connection", "inlet": LUER, "segments": [segment], "dead_ends": [], **_of_lumen(more)}
    return piece(*bodies, placing="port", lumens={"bore": lumen}, **{"cups": [], **more})


def _of_lumen(more: dict[str, object]) -> dict[str, object]:
    return {key: more.pop(key) for key in ("dead_ends",) if key in more}


def port(
    inclination: float = 90.0, *, support_at: float = 0.0, at: Sequence[float] = (0, 0, 0), **more: object
) -> Port:
    """Return a port at (x, y, z) whose pieces lean at an inclination; clear are 300 mm unless told."""
    facts: dict[str, object] = {
        "kind": "taper",
        "circuit": "pipe",
        "along": "0 mm",
        "level": "floor",
        "at": dict(zip("xyz", map(mm, at), strict=True)),
        "end": LUER,
        "bore": "4 mm",
        "fitting_length": "20 mm",
        "clearance": "300 mm",
        "stand": {"inclination": f"{inclination:.9f} °", "support_at": mm(support_at)},
    }
    return Port.model_validate({**facts, **more})


def leaning(inclination: float, *, foot: float = 0.0, **more: object) -> Standing:
    """Return how a piece stands at such a port."""
    return Standing(port(inclination, **more), foot / 1000)  # type: ignore[arg-type]


def carrier(arm_above: float | None = None) -> Carrier:
    """Return a carrier with one level."""
    level = {"name": "floor", "height": "0 mm"} | {"arm_above": "none" if arm_above is None else mm(arm_above)}
    return Carrier.model_validate(
        {
            "name": "carrier",
            "width": "500 mm",
            "depth": "500 mm",
            "height": "500 mm",
            "levels": {"floor": level},
            "circuits": {"pipe": {"fed_from": "dock", "bore": "20 mm"}},
            "ports": {},
            "back_after_unload": "10 min",
        }
    )


def machine(*arms: Mapping[str, float]) -> MachineKind:
    """Return a kind of machine with arms; each by height, and thickness 40, radius 250 at (0, 0) unless told."""
    described = {}
    for number, arm in enumerate(arms):
        facts = {"swept_thickness": 40.0, "radius": 250.0, "centre_x": 0.0, "centre_y": 0.0, **arm}
        jets = {"count": 4, "outlet": "3 mm", "discharge_coefficient": 0.8}
        described[f"arm {number}"] = {"fed_from": "machine", "jets": jets} | {k: mm(v) for k, v in facts.items()}
    points = [{"flow": f"{flow} L/min", "head": f"{head} m"} for flow, head in ((0, 7), (300, 6), (600, 3))]
    pipe = [{"shape": "bore", "bore": "30 mm", "length": "1 m"}]
    return MachineKind.model_validate(
        {
            "name": "kind",
            "pump": {"points": points, "sump_level": "0 mm", "relative_speed": 1, "source": "invented"},
            "discharge": pipe,
            "dock": pipe,
            "arms": described,
            "sensors": {},
            "chamber_width": "600 mm",
            "chamber_depth": "600 mm",
            "chamber_height": "600 mm",
        }
    )


def coil_place(mandrel: float, *, pitch: float = 8.0, turns: int = 10) -> CoilPlace:
    """Return a place of the coil rack."""
    at = {"x": "0 mm", "y": "0 mm", "z": "0 mm"}
    facts = {"level": "floor", "at": at, "mandrel_diameter": mm(mandrel), "pitch": mm(pitch), "turns": turns}
    return CoilPlace.model_validate(facts)


def stage(kind: StageKind, temperature: float) -> Stage:
    """Return a stage of a programme."""
    facts = {"name": kind, "kind": kind, "hold": "1 min", "temperature": f"{temperature} °C"}
    return Stage.model_validate(facts)
