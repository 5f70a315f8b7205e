"""Which lumen can be fed from which port of which carrier, and which ports are equal in that."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.plan.fits import NoOption, PortOption, standing_lumen
from patency.plan.links.chains import start_of
from patency.plan.links.unreachable import missing_link
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from patency.catalogue import Department, PieceType
    from patency.load import PieceToPlace
    from patency.plan.fits import Fitter

LumenKind = tuple[str, str, str]
"""Instrument type, piece type and lumen."""


def lumen_kinds(piece: PieceToPlace) -> list[LumenKind]:
    """List the lumens of a piece as kinds, that at whose port it stands first.

    Parameters
    ----------
    piece
        The piece.

    Returns
    -------
    list[LumenKind]
        One for each lumen.
    """
    first = standing_lumen(piece.piece_type)
    lumens = sorted(piece.lumens, key=lambda lumen: lumen != first)
    return [(piece.instrument, piece.piece, lumen) for lumen in lumens]


class PortTable:
    """For every carrier the ports at which each kind of lumen can be fed.

    Parameters
    ----------
    department
        The department.
    fitter
        Answers for single ports.
    pieces
        All pieces that are to be planned.
    """

    def __init__(self, department: Department, fitter: Fitter, pieces: Iterable[PieceToPlace]) -> None:
        self._department = department
        self.fitter = fitter
        self.carriers = [
            name for name in department.carriers if any(name in m.docks for m in department.machines.values())
        ]
        self.types: dict[LumenKind, PieceType] = {}
        for piece in pieces:
            if piece.piece_type.placing is Placing.PORT:
                self.types |= dict.fromkeys(lumen_kinds(piece), piece.piece_type)
        self._refusals: dict[tuple[str, LumenKind], dict[str, NoOption]] = {}
        self.options: dict[tuple[str, LumenKind], dict[str, list[PortOption]]] = {}
        for carrier in self.carriers:
            twin = self._twin(carrier)
            for kind in self.types:
                if twin is None:
                    self._ask(carrier, kind)
                else:
                    self.options[carrier, kind] = self.options[twin, kind]
                    self._refusals[carrier, kind] = self._refusals[twin, kind]
        self.groups: dict[str, dict[str, list[str]]] = {name: self._groups(name) for name in self.carriers}

    def kinds(self, carrier: str) -> frozenset[str]:
        """Return the kinds of machine a carrier docks in.

        Parameters
        ----------
        carrier
            The carrier.

        Returns
        -------
        frozenset[str]
            Keys of the kinds.
        """
        return frozenset(m.kind for m in self._department.machines.values() if carrier in m.docks)

    def group_of(self, carrier: str) -> Mapping[str, str]:
        """Return the group each port of a carrier belongs to.

        Parameters
        ----------
        carrier
            The carrier.

        Returns
        -------
        Mapping[str, str]
            Port to group.
        """
        return {port: group for group, ports in self.groups[carrier].items() for port in ports}

    def why_none(self, carriers: Iterable[str], kind: LumenKind) -> str:
        """Say why a lumen is fed from no port of some carriers.

        Parameters
        ----------
        carriers
            The carriers.
        kind
            The lumen.

        Returns
        -------
        str
            The missing link, or what room lacks at the ports that would join.
        """
        asked = list(carriers)
        whys: dict[str, list[str]] = {}
        for carrier in asked:
            for port, refusal in self._refusals[carrier, kind].items():
                if refusal.joined:
                    whys.setdefault(refusal.why, []).append(f"{carrier} {port}")
        if whys:
            told = [f"{why} ({ports[0]}{' and others' if len(ports) > 1 else ''})" for why, ports in whys.items()]
            return "it would join but finds no room: " + "; ".join(told)
        starts = [start_of(port) for carrier in asked for port in self._department.carriers[carrier].ports.values()]
        return missing_link(self._department, starts, self.types[kind].lumens[kind[2]])

    def _twin(self, name: str) -> str | None:
        """Return an earlier carrier of the same description that docks in the same kinds of machine."""
        carrier = self._department.carriers[name]
        earlier = self.carriers[: self.carriers.index(name)]
        same = (other for other in earlier if self._department.carriers[other] == carrier)
        return next((other for other in same if self.kinds(other) == self.kinds(name)), None)

    def _ask(self, name: str, kind: LumenKind) -> None:
        carrier = self._department.carriers[name]
        options: dict[str, list[PortOption]] = {}
        refusals: dict[str, NoOption] = {}
        for port, described in carrier.ports.items():
            found = self.fitter.options(carrier, described, self.types[kind], kind[2], sorted(self.kinds(name)))
            if isinstance(found, NoOption):
                refusals[port] = found
            else:
                options[port] = found
        stands = (kind[0], kind[1], standing_lumen(self.types[kind]))
        if stands != kind and (name, stands) in self.options:
            options = self._within_reach(name, kind, options, self.options[name, stands])
        self.options[name, kind] = options
        self._refusals[name, kind] = refusals

    def _within_reach(
        self,
        name: str,
        kind: LumenKind,
        options: dict[str, list[PortOption]],
        stands: dict[str, list[PortOption]],
    ) -> dict[str, list[PortOption]]:
        """Keep the ports from which a hose reaches the piece at some port where it can stand."""
        ports, piece = self._department.carriers[name].ports, self.types[kind]

        def reached(port: str, option: PortOption) -> bool:
            replies = (
                self.fitter.reaches_over(piece, ports[stand], standing_at, ports[port], option.chain)
                for stand, ways in stands.items()
                for standing_at in ways
                if stand != port
            )
            return any(reply is not None and reply.answer is Answer.YES for reply in replies)

        kept = {port: [option for option in ways if reached(port, option)] for port, ways in options.items()}
        return {port: ways for port, ways in kept.items() if ways}

    def _groups(self, name: str) -> dict[str, list[str]]:
        """Put ports together that offer the same to every lumen, on one circuit and with the same end to be closed."""
        groups: dict[tuple[object, ...], list[str]] = {}
        for port, described in self._department.carriers[name].ports.items():
            offers = tuple(tuple(self.options[name, kind].get(port, ())) for kind in self.types)
            end = start_of(described).model_dump_json()
            groups.setdefault((described.kind, described.circuit, end, offers), []).append(port)
        return {f"ports {ports[0]}": ports for ports in groups.values()}
