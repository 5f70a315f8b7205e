"""A slow, obvious solver for water networks: one dense linear system over all flows and heads.

Written from the formulas of docs/physics-network.md, sharing no code with the package's solver: the law of
friction is spelled out anew, derivatives are differences, and every equation of every path stands in one
matrix (the global gradient method of E. Todini and S. Pilati, 1988). Outlets that would suck air are taken
out one round at a time, and let in again when the head at their node rises above them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from patency.flow import PumpPoints

if TYPE_CHECKING:
    from patency.flow import Network, Pump, Segment

GRAVITY = 9.80665

Path = tuple[str, tuple["Segment", ...], float, str, str, float]  # name, segments, exit loss, start, end, elevation


def darcy(reynolds: float, rough: float) -> float:
    """Friction factor: laminar, Dunlop's cubic, Swamee and Jain."""
    if reynolds <= 2000:
        return 64 / reynolds
    if reynolds >= 4000:
        return float(0.25 / math.log10(rough / 3.7 + 5.74 / reynolds**0.9) ** 2)
    y2 = rough / 3.7 + 5.74 / 4000**0.9
    y3 = -2 * math.log10(y2)
    fa = y3**-2
    fb = fa * (2 - 3.6 / math.log(10) * 5.74 / 4000**0.9 / (y2 * y3))
    r = reynolds / 2000
    x4 = r * (0.032 - 3 * fa + 0.5 * fb)
    x3 = -0.128 + 13 * fa - 2 * fb
    x2 = 0.128 - 17 * fa + 2.5 * fb
    return float(7 * fa - fb + r * (x2 + r * (x3 + x4)))


def segment_loss(segment: Segment, flow: float, viscosity: float) -> float:
    """Head lost in one segment at a flow above zero."""
    if segment.shape == "orifice":
        return flow**2 / (2 * GRAVITY * (segment.discharge_coefficient * math.pi / 4 * segment.diameter_m**2) ** 2)
    if segment.shape == "bore":
        width, area, share = segment.diameter_m, math.pi / 4 * segment.diameter_m**2, 1.0
    else:
        wide, rod = segment.outer_diameter_m, segment.inner_diameter_m
        k = rod / wide
        width, area = wide - rod, math.pi / 4 * (wide**2 - rod**2)
        share = (1 + k**2 + (1 - k**2) / math.log(k)) / (1 - k) ** 2  # 64 / C
    velocity = flow / area
    factor = darcy(velocity * width / viscosity * share, segment.roughness_m / width)
    return (factor * segment.length_m / width + segment.minor_loss) * velocity**2 / (2 * GRAVITY)


def path_loss(segments: tuple[Segment, ...], exit_loss: float, flow: float, viscosity: float) -> float:
    """Head lost along a row of segments, at a flow of either sign."""
    size = abs(flow)
    if size == 0:
        return 0.0
    loss = sum(segment_loss(segment, size, viscosity) for segment in segments)
    if segments[-1].shape == "bore":
        loss += exit_loss * (size / (math.pi / 4 * segments[-1].diameter_m ** 2)) ** 2 / (2 * GRAVITY)
    elif segments[-1].shape == "annulus":
        area = math.pi / 4 * (segments[-1].outer_diameter_m ** 2 - segments[-1].inner_diameter_m ** 2)
        loss += exit_loss * (size / area) ** 2 / (2 * GRAVITY)
    return math.copysign(loss, flow)


def pump_head(pump: Pump, flow: float) -> float:
    """Head of the pump, by the affinity laws; beyond its ends the curve is drawn on."""
    speed = pump.relative_speed
    if isinstance(pump, PumpPoints):
        q, h = np.array(pump.points).T
        k = int(np.clip(np.searchsorted(q, flow / speed), 1, len(q) - 1))
        return float(speed**2 * (h[k - 1] + (h[k] - h[k - 1]) / (q[k] - q[k - 1]) * (flow / speed - q[k - 1])))
    steep = pump.coefficient * speed ** (2 - pump.exponent) * abs(flow) ** (pump.exponent - 1)
    return float(speed**2 * pump.shutoff_head_m - steep * flow)


def reference_flows(network: Network, viscosity: float) -> tuple[dict[str, float], dict[str, float]]:
    """Flows of all paths and total heads of all nodes, sump level as datum."""
    nodes = sorted({end for link in network.links for end in (link.from_node, link.to_node)} - {"SUMP"})
    row = {node: k for k, node in enumerate(nodes)}
    running = {outlet.id for outlet in network.outlets if outlet.state == "open"}
    flow: dict[str, float] = {}
    for _ in range(100):
        paths = [(link.id, link.segments, 0.0, link.from_node, link.to_node, 0.0) for link in network.links]
        paths += [
            (o.id, o.segments, o.exit_loss, o.node, "", o.elevation_m) for o in network.outlets if o.id in running
        ]
        flow, head = balance(network.pump, paths, row, viscosity, flow)
        air = {o.id for o in network.outlets if o.id in running and flow[o.id] < 0}
        back = {
            o.id
            for o in network.outlets
            if o.state == "open" and o.id not in running and head[row[o.node]] > o.elevation_m
        }
        if not air and not back:
            still = {outlet.id: 0.0 for outlet in network.outlets}
            level = network.pump.sump_level_m
            return still | flow, {node: float(head[k]) - level for node, k in row.items()}
        running = (running - air) | back
    raise AssertionError("the reference found no set of running outlets")


def balance(
    pump: Pump, paths: list[Path], row: dict[str, int], viscosity: float, guess: dict[str, float]
) -> tuple[dict[str, float], np.ndarray]:
    """Newton on all flows and heads at once; outlets may run backwards here."""
    count, nodes = len(paths), len(row)
    q = np.array([guess.get(path[0]) or 1e-5 for path in paths])
    gain = np.zeros((count, nodes))  # what a node's head does for a path
    fixed = np.zeros(count)  # heads that are given
    for k, (_, _, _, start, end, elevation) in enumerate(paths):
        if start == "SUMP":
            fixed[k] += pump.sump_level_m
        else:
            gain[k, row[start]] += 1
        if end:
            gain[k, row[end]] -= 1
        else:
            fixed[k] -= elevation

    def loss(k: int, flow: float) -> float:
        _, segments, exit_loss, start, _, _ = paths[k]
        lost = path_loss(segments, exit_loss, flow, viscosity)
        return lost - pump_head(pump, flow) if start == "SUMP" else lost

    for _ in range(300):
        nudge = 1e-6 * np.abs(q) + 1e-13
        lost = np.array([loss(k, q[k]) for k in range(count)])
        slope = np.array([(loss(k, q[k] + nudge[k]) - loss(k, q[k] - nudge[k])) / (2 * nudge[k]) for k in range(count)])
        slope = np.maximum(slope, 1e-6)
        system = np.block([[np.diag(slope), -gain], [gain.T, np.zeros((nodes, nodes))]])
        answer = np.linalg.solve(system, np.concatenate([slope * q - lost + fixed, np.zeros(nodes)]))
        change = answer[:count] - q
        q = q + (change if np.all(np.abs(change) < 1e-3 * np.abs(q) + 1e-9) else 0.7 * change)
        if np.all(np.abs(change) <= 1e-10 * np.abs(q) + 1e-15):
            return {path[0]: float(x) for path, x in zip(paths, q, strict=True)}, answer[count:]
    raise AssertionError("the reference did not settle")
