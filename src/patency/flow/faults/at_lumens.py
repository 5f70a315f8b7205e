"""The faults of one connected lumen: what comes off, what clogs, what is missing or the wrong one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from patency.catalogue import FlushingSleeve, Hose, InjectorNozzle, Strainer
from patency.flow.carrier_paths import circuit_node
from patency.flow.connector_chains import connector_chain, port_stretches
from patency.flow.faults.fault import AT_ITS_NOZZLE, Fault, FaultCase, FaultKind, NetworkChange
from patency.flow.faults.narrowing import halved, segment_at, with_loss_added
from patency.flow.losses import TEE_BRANCH
from patency.flow.lumen_drawing import draw_lumen
from patency.flow.network import Annulus

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from patency.catalogue import Carrier, Department
    from patency.flow.draft import Draft
    from patency.flow.from_load import LoadNetwork
    from patency.flow.lumen_drawing import Connected
    from patency.flow.lumen_paths import LumenKey, LumenPath
    from patency.flow.network import Network
    from patency.flow.stretches import Stretch


def faults_of_lumen(
    draft: Draft,
    department: Department,
    carrier: Carrier,
    connected: Connected,
    load_network: LoadNetwork,
    key: LumenKey,
) -> Iterator[FaultCase]:
    """List the faults of one connected lumen, and draw what they would open.

    Parameters
    ----------
    draft
        Takes the links and outlets that faults would open.
    department
        The department.
    carrier
        The carrier.
    connected
        The lumen and how it is connected.
    load_network
        The load's network.
    key
        The lumen's set, piece and key.

    Yields
    ------
    FaultCase
        Each fault.

    Raises
    ------
    InputError
        If the connector chain cannot be read.
    """
    lumen = _Lumen(draft, department, carrier, connected, load_network.lumens[key], key)
    yield from lumen.coming_off()
    yield from lumen.clogging(load_network.network)
    yield from lumen.end_cap_missing()
    yield from lumen.wrong_nozzles()
    rods = tuple(place for place in lumen.path.own if isinstance(segment_at(load_network.network, place), Annulus))
    if rods:
        yield lumen.case(FaultKind.ROD_LYING, NetworkChange(lying_rods=rods))


class _Lumen:
    """One connected lumen and where its alternatives are drawn."""

    def __init__(
        self,
        draft: Draft,
        department: Department,
        carrier: Carrier,
        connected: Connected,
        path: LumenPath,
        key: LumenKey,
    ) -> None:
        self._draft, self._department, self._carrier, self._connected = draft, department, carrier, connected
        self._port = carrier.ports[path.port]
        self._chain = connector_chain(department, self._port, connected.connection, connected.lumen, draft.defaults)
        self._node = circuit_node(carrier, self._port.circuit, self._port.along_m)
        self._key = key
        self.path = path

    def case(self, kind: FaultKind, change: NetworkChange, detail: str = "") -> FaultCase:
        return FaultCase(Fault(kind, self.path.port, self._key, self._port.level, detail), change)

    def _comes_off(self, kind: FaultKind, stretches: Sequence[Stretch]) -> FaultCase:
        """Let the water leave into the open at the port's height, through what is left on the port."""
        name = f"{kind}, {self.path.port}"
        self._draft.outlet(name, self._node, stretches, TEE_BRANCH, self._port.at.z_m)
        return self.case(kind, NetworkChange(closes=self.path.outlets, opens=(name,)))

    def coming_off(self) -> Iterator[FaultCase]:
        accessories = self._department.accessories
        bare = port_stretches(self._port, self._draft.defaults, self.path.port)
        if self.path.jet is not None:
            yield self.case(FaultKind.PIECE_OFF_NOZZLE, NetworkChange(dry=(self._key,)))
        elif self._port.hose is not None or any(
            isinstance(accessories[name], Hose) for name in self._connected.connection.chain
        ):
            yield self._comes_off(FaultKind.HOSE_OFF_PORT, bare)
            yield self._comes_off(FaultKind.HOSE_OFF_PIECE, self._chain.stretches)
        else:
            yield self._comes_off(FaultKind.PIECE_OFF_PORT, bare)

    def clogging(self, network: Network) -> Iterator[FaultCase]:
        blocked = tuple(outlet for outlet in self.path.outlets if outlet != self.path.outside)
        at = AT_ITS_NOZZLE if self.path.jet is not None else ""
        yield self.case(FaultKind.BLOCKED, NetworkChange(closes=blocked), at)
        own = self.path.own or (_opening(network, self.path),)
        halves = {place: halved(segment_at(network, place)) for place in own}
        yield self.case(FaultKind.HALF_BLOCKED, NetworkChange(segments=halves), at)
        links = (self._department.accessories[name] for name in self._connected.connection.chain)
        losses = [link.loss for link in links if isinstance(link, Strainer)]
        for before, loss in zip(self._chain.strainers, losses, strict=True):
            place = (self.path.begins, before)
            clogged = with_loss_added(segment_at(network, place), loss)
            yield self.case(FaultKind.STRAINER_CLOGGED, NetworkChange(segments={place: clogged}))

    def end_cap_missing(self) -> Iterator[FaultCase]:
        """Draw the lumen once more with its sleeve open; a sleeve narrower than the tube stays shut without its cap."""
        sleeve = self._chain.sleeve
        if sleeve is None or not sleeve.end_cap:
            return
        name = self._connected.connection.chain[-1]
        uncapped = sleeve.model_copy(update={"end_cap": False})
        path = self._fed_by({name: uncapped}, self._connected, FaultKind.END_CAP_MISSING)
        change = NetworkChange(closes=self.path.outlets, opens=path.outlets, moved={self._key: path})
        yield self.case(FaultKind.END_CAP_MISSING, change)

    def wrong_nozzles(self) -> Iterator[FaultCase]:
        """Put the next narrower and the next wider nozzle that go on the same port in place of the right one."""
        right = self._chain.nozzle
        if right is None:
            return
        others = [
            (_opening_m2(nozzle), name)
            for name, nozzle in self._department.accessories.items()
            if isinstance(nozzle, InjectorNozzle)
            and nozzle.near == right.near
            and _opening_m2(nozzle) != _opening_m2(right)
        ]
        narrower = max((other for other in others if other[0] < _opening_m2(right)), default=None)
        wider = min((other for other in others if other[0] > _opening_m2(right)), default=None)
        for _, name in filter(None, (narrower, wider)):
            connection = self._connected.connection
            chain = (*connection.chain[:-1], name)
            other = replace(self._connected, connection=connection.model_copy(update={"chain": chain}))
            path = self._fed_by({}, other, name)
            change = NetworkChange(closes=self.path.outlets, opens=path.outlets, moved={self._key: path})
            yield self.case(FaultKind.WRONG_NOZZLE, change, self._department.accessories[name].name)

    def _fed_by(self, accessories: dict[str, FlushingSleeve], connected: Connected, mark: str) -> LumenPath:
        """Draw the lumen fed another way."""
        department = self._department.model_copy(
            update={"accessories": {**self._department.accessories, **accessories}}
        )
        return draw_lumen(self._draft, self._node, department, self._carrier, connected, f", {mark}")


def _opening(network: Network, path: LumenPath) -> tuple[str, int]:
    """Find the opening of a nozzle, the last segment of its path."""
    outlet = next(outlet for outlet in network.outlets if outlet.id == path.entry[0])
    return outlet.id, len(outlet.segments) - 1


def _opening_m2(nozzle: InjectorNozzle) -> float:
    """What a nozzle's openings pass together, over a constant."""
    return nozzle.outlet_m.nominal**2 + sum(holes.count * holes.diameter_m**2 for holes in nozzle.side_holes or ())
