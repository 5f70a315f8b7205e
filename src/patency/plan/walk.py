"""The walk around a carrier: where each piece would stand if the sets were laid out side by side, near to far."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Carrier, Lumen
    from patency.plan.joints import Joint
    from patency.plan.posing import Posed

# Against the walk the water counts little, unless thirst says otherwise.
_STEP = 10.0
_MM_PER_UNIT = 5.0


class Walk:
    """Costs of putting a lumen at a port, as far as walk and water go.

    Parameters
    ----------
    posed
        The posed problem.
    carrier
        The carrier.
    joints
        The lumens of the load, set by set.
    thirst
        How much pieces gain from being near to the feed, by set and piece; one step of the walk counts ten.
    """

    def __init__(
        self, posed: Posed, carrier: Carrier, joints: list[Joint], thirst: Mapping[tuple[str, str], float]
    ) -> None:
        self._carrier = carrier
        self._thirst = {
            joint: thirst.get((joint.set, joint.key), first_thirst(joint.piece.lumens[joint.lumen])) for joint in joints
        }
        self._rank = {port: rank for rank, port in enumerate(carrier.ports)}
        by_feed = sorted(carrier.ports, key=lambda port: (feed_length_m(carrier, port), port))
        self._far = {port: rank for rank, port in enumerate(by_feed)}
        targets = self._targets(posed, joints)
        stands = {(joint.set, joint.key): targets[joint] for joint in joints if joint.stands}
        self._ports = list(carrier.ports)
        self._target = {joint: rank for joint, rank in targets.items() if joint.stands}
        self._beside = {joint: self._ports[stands[joint.set, joint.key]] for joint in joints if not joint.stands}

    def cost(self, joint: Joint, port: str) -> float:
        """Return what it costs to feed a lumen from a port.

        Parameters
        ----------
        joint
            The lumen.
        port
            The port.

        Returns
        -------
        float
            Where the piece stands there, steps away from its place in the walk, and thirst times the rank in distance
            from the feed; where a hose reaches over, its length from the piece's place in the walk.
        """
        if joint not in self._target:
            return self.stretch(self._beside[joint], port) / _MM_PER_UNIT
        return _STEP * abs(self._rank[port] - self._target[joint]) + self._thirst[joint] * self._far[port]

    def place(self, joint: Joint) -> str:
        """Return the port that is a standing piece's place in the walk.

        Parameters
        ----------
        joint
            The lumen at whose port it stands.

        Returns
        -------
        str
            The port.
        """
        return self._ports[self._target[joint]]

    def stretch(self, stand: str, port: str) -> float:
        """Return how far a hose reaches over from one port to another.

        Parameters
        ----------
        stand
            The port at which the piece stands.
        port
            The port the hose comes from.

        Returns
        -------
        float
            The distance [mm]: the shortest hoses in sum do not cross.
        """
        a, b = self._carrier.ports[stand].at, self._carrier.ports[port].at
        return 1000 * math.dist((a.x_m, a.y_m, a.z_m), (b.x_m, b.y_m, b.z_m))

    def _targets(self, posed: Posed, joints: list[Joint]) -> dict[Joint, int]:
        """Deal out the ports of each kind in the order of the walk; within a set the thirstiest comes first."""
        sets = list(dict.fromkeys(joint.set for joint in joints))
        ordered = sorted(joints, key=lambda joint: (sets.index(joint.set), -self._thirst[joint]))
        dealt: dict[str, list[str]] = {}
        for port, described in self._carrier.ports.items():
            dealt.setdefault(described.kind, []).append(port)
        taken = dict.fromkeys(dealt, 0)
        targets = {}
        for joint in ordered:
            options = posed.table.options[self._carrier_key(posed), joint.kind]
            first = next(iter(options), None)
            kind = self._carrier.ports[first].kind if first else next(iter(dealt))
            ports = dealt[kind]
            targets[joint] = self._rank[ports[min(taken[kind], len(ports) - 1)]]
            taken[kind] += 1
        return targets

    def _carrier_key(self, posed: Posed) -> str:
        return next(key for key, carrier in posed.department.carriers.items() if carrier is self._carrier)


def first_thirst(lumen: Lumen) -> float:
    """Return how thirsty a lumen counts before its flow is known.

    Parameters
    ----------
    lumen
        The lumen.

    Returns
    -------
    float
        One where it states a need, else nothing.
    """
    need = lumen.need
    stated = (need.minimum_flow, need.minimum_pressure, need.minimum_shear, need.minimum_velocity)
    return 1.0 if any(limit is not None for limit in stated) else 0.0


def feed_length_m(carrier: Carrier, port: str) -> float:
    """Return the length of pipe between the dock and a port.

    Parameters
    ----------
    carrier
        The carrier.
    port
        The port.

    Returns
    -------
    float
        Length along the circuits [m].
    """
    described = carrier.ports[port]
    length, circuit = described.along_m, described.circuit
    while circuit != "dock":
        pipe = carrier.circuits[circuit]
        length += pipe.branches_at_m + sum(segment.length_m.nominal for segment in pipe.inlet or ())
        circuit = pipe.fed_from
    return length
