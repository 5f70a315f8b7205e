"""A department with one lumen at one port, so that a hand formula can follow the water. All of it is invented.

The pump holds its head nearly constant, pipes up to the port are so wide that they lose next to nothing, there is no
arm: what is left is the port's fitting and what stands on it.
"""

from __future__ import annotations

import math
from datetime import datetime
from typing import TYPE_CHECKING, Any

import yaml

from patency.catalogue import Department, Placing
from patency.flow import Orifice
from patency.load import Connection, Load, PlacedPiece

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.flow import Segment

HEAD_M = 2.0  # above the port
SITE = """\
site: One Port (invented)
languages: [en]
connector_families:
  thread: {name: thread, bore: full, source: invented}
  luer: {name: luer, bore: 2.0 mm, source: common practice}
  tube: {name: outside of a tube, bore: full, source: invented}
limits:
  flow:
    least_shear: {value: 1 Pa, source: no source}
    least_exchanges: {value: 10, source: no source}
    bore_tolerance: {value: 2 %, source: no source}
    rod_tolerance: {value: 2 %, source: no source}
    roughness: {value: 1.5 µm, source: no source}
    default_loss: {value: 0, source: no source}
    roughness_factor: {value: 2, source: no source}
    loss_tolerance: {value: 20 %, source: no source}
    pump_tolerance: {value: 3 %, source: no source}
instruments:
  thing:
    name: thing
    family: thing
    pieces:
      tube:
        name: tube
        placing: port
        outline: [{form: tube, length: 300 mm, width: 5 mm}]
        way_up: distal up
        lumens: {bore: LUMEN}
sets: {One: {contents: {thing: 1}, basket_areas: 0}}
carriers:
  Wren:
    name: Wren
    width: 500 mm
    depth: 500 mm
    height: 500 mm
    back_after_unload: 10 min
    levels: {low: {name: low, height: 0 mm, arm_above: none}}
    circuits: {riser: {fed_from: dock, inlet: [], bore: 200 mm}}
    ports:
      P: PORT
accessories: ACCESSORIES
machine_kinds:
  plain:
    name: plain
    pump:
      points: [{flow: 0 L/min, head: 2.3 m}, {flow: 500 L/min, head: 2.2999 m}, {flow: 1000 L/min, head: 2.2 m}]
      sump_level: -300 mm
      relative_speed: 1
      source: invented
    discharge: [{shape: bore, bore: 200 mm, length: 100 mm, loss: 0}]
    dock: [{shape: bore, bore: 200 mm, length: 100 mm, loss: 0}]
    arms: {}
    sensors: {}
    chamber_width: 600 mm
    chamber_depth: 600 mm
    chamber_height: 600 mm
machines: {Alpha: {kind: plain, docks: [Wren], programmes: {gentle: 60 min}}}
programmes:
  gentle:
    name: gentle
    version: "1"
    for_lumens: true
    stages:
      - {name: wash, kind: clean, hold: 3 min, temperature: 20 °C, pump_speed: 1}
      - {name: wash, kind: rinse, hold: 3 min, temperature: 60 °C, pump_speed: 1}
      - {name: dry, kind: dry, hold: 3 min, temperature: 100 °C}
"""
PORT: dict[str, Any] = {
    "circuit": "riser",
    "along": "100 mm",
    "level": "low",
    "at": {"x": "0 mm", "y": "0 mm", "z": "0 mm"},
    "end": {"family": "thread", "gender": "male"},
    "bore": "8 mm",
    "fitting_length": "10 mm",
    "clearance": "500 mm",
    "stand": {"inclination": "0 °", "support_at": "50 mm"},
}
HOSE = {"bore": "4 mm", "length": "300 mm", "outer": "6 mm", "end": {"family": "luer", "gender": "male"}}


def one_port(
    lumen: dict[str, Any],
    accessories: dict[str, Any] | None = None,
    port: dict[str, Any] | None = None,
    site: str = SITE,
) -> Department:
    """Return the department with this lumen, these accessories and these changes to its port."""
    data = yaml.safe_load(site)
    data["instruments"]["thing"]["pieces"]["tube"]["lumens"]["bore"] = {
        "side_holes": [],
        "dead_ends": [],
        **lumen,
        "need": {"maximum_pressure": "none", **lumen.get("need", {})},
    }
    data["accessories"] = accessories or {}
    data["carriers"]["Wren"]["ports"]["P"] = {
        **PORT,
        "kind": "hose" if port and "hose" in port else "nozzle",
        **(port or {}),
    }
    return Department.model_validate(data)


def one_load(chain: Sequence[str] = (), depth_m: float | None = None, **changes: Any) -> Load:  # noqa: ANN401
    """Return the load with the lumen on the port through this chain."""
    connection = Connection(lumen="bore", port="P", chain=tuple(chain), nozzle_depth_m=depth_m)
    piece = PlacedPiece(
        set="One",
        piece="thing/1/tube",
        placing=Placing.PORT,
        position="P",
        lumens=(connection,),
        way_up="distal up",
    )
    values = {
        "id": "L1",
        "carrier": "Wren",
        "machine_kind": "plain",
        "machine": "Alpha",
        "programme": "gentle",
        "sets": ("One",),
        "starts": datetime.fromisoformat("2026-03-02T12:00"),
        "ends": datetime.fromisoformat("2026-03-02T13:00"),
        "pieces": (piece,),
        "capped_ports": (),
    }
    return Load.model_validate({**values, **changes})


def bore(diameter: str, length: str = "300 mm", **more: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return a stretch of bore as a file describes it."""
    return {"shape": "bore", "bore": diameter, "length": length, **more}


def connected(*segments: dict[str, Any], **more: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return a lumen that is connected, as a file describes it."""
    return {"segments": list(segments), "fed_by": "connection", **more}


def over_nozzle(*segments: dict[str, Any], **more: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return a lumen over an injector nozzle, as a file describes it."""
    return {"segments": list(segments), "fed_by": "injector nozzle", **more}


def nozzle(**changes: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return an injector nozzle, as a file describes it."""
    return {
        "kind": "injector nozzle",
        "name": "nozzle",
        "stock": 1,
        "near": {"family": "thread", "gender": "female"},
        "bore": "6 mm",
        "outlet": "2 mm",
        "outer": "7 mm",
        "length": "80 mm",
        "discharge_coefficient": 0.8,
        "side_holes": [],
        **changes,
    }


def sleeve(**changes: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return a flushing sleeve, as a file describes it."""
    return {
        "kind": "flushing sleeve",
        "name": "sleeve",
        "stock": 1,
        "near": {"family": "luer", "gender": "female"},
        "grips": {"family": "tube", "gender": "female", "size": "5 ± 0.5 mm"},
        "inner": "5.4 mm",
        "bore": "3 mm",
        "length": "60 mm",
        "least_overlap": "10 mm",
        "end_cap": True,
        **changes,
    }


def is_opening(segment: Segment, square_m2: float, discharge_coefficient: float) -> bool:
    """Tell whether a segment is an orifice with this square of its diameter and this coefficient."""
    return (
        isinstance(segment, Orifice)
        and math.isclose(segment.diameter_m**2, square_m2)
        and segment.discharge_coefficient == discharge_coefficient
    )
