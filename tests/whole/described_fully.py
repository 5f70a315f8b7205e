"""The small department with everything said that can be said of it, so that all can be left out. All invented."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, get_args

from patency.catalogue import Department
from patency.catalogue.fields import Described
from patency.catalogue.parts import parts
from patency.load import Connection
from tests.small_plan import MORNING_LOAD

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.load import PlacedPiece

LUER_IN, LUER_OUT = {"family": "luer", "gender": "female"}, {"family": "luer", "gender": "male"}
BETWEEN: dict[str, dict[str, Any]] = {
    "extension": {"kind": "hose", "bore": "3 mm", "length": "200 mm", "outer": "5 mm"},
    "joint": {"kind": "adapter", "bore": "2.5 mm", "length": "20 mm", "loss": 0.4},
    "sieve": {"kind": "strainer", "bore": "3 mm", "length": "35 mm", "loss": 8},
}


def limit(value: str | float) -> dict[str, Any]:
    """Return a limit as a file states it."""
    return {"value": value, "source": "invented"}


def say_everything(site: dict[str, Any]) -> None:
    """Add whatever may be left out and is not said yet, nothing of it what the department falls short of."""
    site["limits"]["flow"] |= {
        "least_velocity": limit("0.001 m/s"),
        "least_exchanges": limit(0.1),
        "default_loss": limit(2),
    }
    carrier = site["carriers"]["Wren"]
    for circuit in carrier["circuits"].values():
        circuit["roughness"] = "1 µm"
    for port in carrier["ports"].values():
        port["loss"] = 0.2
    for name, part in BETWEEN.items():
        site["accessories"][name] = {"name": name, "stock": 1, "near": LUER_IN, "far": LUER_OUT, **part}
    for part in site["accessories"].values():
        part["rank"] = 1
    site["accessories"]["nozzle_6"]["side_holes"] = [{"count": 2, "diameter": "1 mm", "from_inlet": "70 mm"}]
    for instrument in site["instruments"].values():
        for piece in instrument["pieces"].values():
            piece |= {"count": 1, "sharp": True}
            for lumen in piece.get("lumens", {}).values():
                lumen |= {"direction": "inlet to outlet", "outlet": LUER_OUT, "strainer_upstream": True}
                for segment in lumen["segments"]:
                    segment |= {"loss": 0.3, "roughness": "1 µm"}
    whole = site["instruments"]["fix5"]["pieces"]["whole"]
    whole["cups"] = [{"name": "hollow", "opens": "distal", "width": "5 mm", "depth": "5 mm"}]
    holes = [{"count": 1, "diameter": "0.5 mm", "from_inlet": "100 mm"}]
    whole["lumens"]["shaft"] |= {"side_holes": holes, "dead_ends": ["4 mm"]}
    kind = site["machine_kinds"]["front_loader"]
    kind["pump"]["relative_speed"] = 0.95
    for sensor in kind["sensors"].values():
        sensor["note"] = "invented"
    site["machines"]["Alpha"]["note"] = "invented"
    for stage in site["programmes"]["gentle"]["stages"]:
        stage["pump_speed"] = 0.9
    site["sets"]["Noon"]["hold"] = "on loan"


def need_everything(site: dict[str, Any]) -> None:
    """State every other need of the lumen that has one of its own, and what a reference load showed of it."""
    site["instruments"]["fix5"]["pieces"]["whole"]["lumens"]["shaft"]["need"] |= {
        "minimum_flow": limit("1 mL/min"),
        "minimum_velocity": limit("0.001 m/s"),
        "minimum_pressure": limit("1 mbar"),
        "maximum_pressure": limit("10 bar"),
    }
    validated = site["reference_loads"]["validated"]
    validated["valid_until"] = "2026-12-31"
    shown = {"instrument": "fix5", "piece": "whole", "lumen": "shaft"}
    validated["lumens"].append({**shown, "flow": limit("1 mL/min"), "shear": limit("1 Pa")})


def behind_all_links(placed: PlacedPiece) -> PlacedPiece:
    """Connect the forceps through a hose, an adapter and a strainer."""
    if placed.piece != "fix5/1/whole":
        return placed
    return placed.model_copy(update={"lumens": (Connection(lumen="shaft", port="H2", chain=tuple(BETWEEN)),)})


LONG_LOAD = MORNING_LOAD.model_copy(update={"pieces": tuple(map(behind_all_links, MORNING_LOAD.pieces))})


def _kinds(annotation: Any, found: set[type[Described]]) -> set[type[Described]]:  # noqa: ANN401
    """Find every kind of description that a department can hold."""
    if isinstance(annotation, type) and issubclass(annotation, Described) and annotation not in found:
        found.add(annotation)
        for field in annotation.model_fields.values():
            _kinds(field.annotation, found)
    for inner in get_args(annotation):
        _kinds(inner, found)
    return found


def never_said(department: Department) -> Iterator[str]:
    """Name every field that may be left out and is stated nowhere in a department."""
    said: dict[type[Described], set[str]] = {}
    for _, part in parts(department, Described):
        said.setdefault(type(part), set()).update(part.model_fields_set)
    for kind in _kinds(Department, set()):
        for name, field in kind.model_fields.items():
            if not field.is_required() and name not in said.get(kind, ()):
                yield f"{kind.__name__}.{name}"
