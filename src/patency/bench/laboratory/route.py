"""The flow laboratory as a live page: a port is touched, every lumen's flow changes at once."""

from __future__ import annotations

from urllib.parse import urlencode

from fastapi import APIRouter
from fastapi.responses import Response

from patency.bench.asking import Asking
from patency.errors import InputError, PhysicsError
from patency.steps import Laboratory, PortIs, load_of_plan, try_ports

router = APIRouter(include_in_schema=False)
_WIDTH, _MARGIN, _RADIUS = 1000.0, 60.0, 27.0


def _changes(asked: Asking) -> dict[str, PortIs]:
    try:
        return {
            key.removeprefix("port."): PortIs(value)
            for key, value in asked.request.query_params.items()
            if key.startswith("port.")
        }
    except ValueError as fault:
        raise InputError("port", str(fault), "capped, open or blocked") from fault


class _Map:
    """Where each port is drawn and where one touch leads: the carrier from above, its front at the foot."""

    def __init__(self, laboratory: Laboratory) -> None:
        xs, ys = ([getattr(port, axis) for port in laboratory.ports] for axis in ("x_m", "y_m"))
        self.laboratory = laboratory
        self.left, self.far = min(xs), max(ys)
        self.scale = (_WIDTH - 2 * _MARGIN) / max(max(xs) - min(xs), 1e-6)
        self.height = (max(ys) - min(ys)) * self.scale + 2 * _MARGIN
        self.width, self.radius = _WIDTH, _RADIUS

    def at(self, port: str) -> tuple[float, float]:
        one = next(one for one in self.laboratory.ports if one.key == port)
        return (one.x_m - self.left) * self.scale + _MARGIN, (self.far - one.y_m) * self.scale + _MARGIN

    def touch(self, port: str) -> str:
        one = next(one for one in self.laboratory.ports if one.key == port)
        changes = {**self.laboratory.changes, port: one.following}
        if one.following is one.planned:
            del changes[port]
        return "?" + urlencode({f"port.{key}": now.value for key, now in changes.items()})


@router.get("/laboratory", name="laboratories")
def laboratories(asked: Asking) -> Response:
    """List the loads of the plan."""
    return asked.page("laboratory/list.html", loads=asked.opened.plan.loads)


@router.get("/laboratory/{load}", name="laboratory")
def laboratory(asked: Asking, load: str) -> Response:
    """Show every port and every lumen of a load, with what was changed."""
    opened = asked.opened
    planned = load_of_plan(opened.plan, load)
    try:
        found, fault = try_ports(opened.department, planned, _changes(asked), opened.plan.day), ""
    except PhysicsError as error:
        found, fault = try_ports(opened.department, planned, {}, opened.plan.day), error.line
    only_bench = asked.request.headers.get("hx-request") == "true"
    name = "laboratory/bench.html" if only_bench else "laboratory"
    return asked.page(name, laboratory=found, map=_Map(found), fault=fault)
