"""Where single pieces find room: a piece at a port behind a chain, on the coil rack, in a pod, in an optic holder."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import ChainLink, FedBy, Hose
from patency.load import Question, Reply
from patency.plan.links.chains import find_chains, start_of, useful_chains
from patency.quantities import Answer
from patency.reach import clearance, drainage, hose_bend, inlet_gap_m, standing, tipping

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from patency.catalogue import Carrier, Connector, Department, Lumen, MachineKind, PieceType, Port
    from patency.plan.links.chains import Chain
    from patency.quantities import Toleranced

# How much a plug of water keeps depends on its temperature, whether a bore drains does not.
_ANY_WATER_C = 20.0


@dataclass(frozen=True, slots=True)
class PortOption:
    """A lumen can be fed from a port in this way.

    Parameters
    ----------
    chain
        Accessories from the port to the lumen.
    cost
        Cost of the chain.
    depth_m
        How far an injector nozzle stands inside the bore [m]; None without one.
    kinds
        Kinds of machine in which the piece finds room.
    """

    chain: tuple[str, ...]
    cost: int
    depth_m: float | None
    kinds: frozenset[str]


@dataclass(frozen=True, slots=True)
class NoOption:
    """Why a port does not do for a lumen.

    Parameters
    ----------
    joined
        Whether a chain exists, so that room is what lacks.
    why
        The reason.
    """

    joined: bool
    why: str


@dataclass(frozen=True, slots=True)
class AtPort:
    """A piece at a port.

    Parameters
    ----------
    carrier
        The carrier.
    port
        The port.
    piece
        The piece.
    machine
        Kind of machine the carrier docks in.
    """

    carrier: Carrier
    port: Port
    piece: PieceType
    machine: MachineKind


def standing_lumen(piece: PieceType) -> str:
    """Return the lumen at whose port a piece stands.

    Parameters
    ----------
    piece
        A piece that is placed on a port.

    Returns
    -------
    str
        The first lumen over an injector nozzle, else the first of all: a piece stands over its nozzle.
    """
    for name, lumen in piece.lumens.items():
        if lumen.fed_by is FedBy.INJECTOR_NOZZLE:
            return name
    return next(iter(piece.lumens))


class Fitter:
    """Answers for one department which lumen can be fed from which port; equal questions are computed once.

    Parameters
    ----------
    department
        The department.
    """

    def __init__(self, department: Department) -> None:
        self._department = department
        self._chains: dict[tuple[str, str, Toleranced | None, int], list[Chain]] = {}

    def chains(self, start: Connector, lumen: Lumen) -> list[Chain]:
        """Return the chains of use from a connector to a lumen.

        Parameters
        ----------
        start
            Where they begin.
        lumen
            The lumen.

        Returns
        -------
        list[Chain]
            The best first.
        """
        # The lumen belongs to the department, which lives as long as this: its identity stands for it.
        key = (start.family, start.gender, start.size_m, id(lumen))
        if key not in self._chains:
            self._chains[key] = useful_chains(find_chains(self._department, start, lumen))
        return self._chains[key]

    def options(
        self, carrier: Carrier, port: Port, piece: PieceType, lumen: str, kinds: Iterable[str]
    ) -> list[PortOption] | NoOption:
        """Tell how a lumen can be fed from a port.

        Parameters
        ----------
        carrier
            The carrier.
        port
            The port.
        piece
            The piece.
        lumen
            Its lumen.
        kinds
            Kinds of machine the carrier docks in.

        Returns
        -------
        list[PortOption] | NoOption
            The options, cheap ones first, or why there is none. At the lumen of ``standing_lumen`` the piece itself has
            to find room; any other lumen is reached by a hose, see ``reaches_over``.
        """
        chains = self.chains(start_of(port), piece.lumens[lumen])
        if not chains:
            return NoOption(joined=False, why="")
        if lumen != standing_lumen(piece):
            return self._from_afar(port, chains, kinds)
        options, why = [], ""
        for chain in chains:
            option = self._with_room(carrier, port, piece, chain, kinds)
            if isinstance(option, PortOption):
                options.append(option)
            else:
                why = why or option
        return options or NoOption(joined=True, why=why)

    def _from_afar(self, port: Port, chains: list[Chain], kinds: Iterable[str]) -> list[PortOption] | NoOption:
        everywhere = frozenset(kinds)
        options = [
            PortOption(chain.links, chain.cost, None, everywhere)
            for chain in chains
            if chain.depth_m is None and (port.hose or any(isinstance(a, Hose) for a in self.links(chain.links)))
        ]
        return options or NoOption(joined=True, why="only a hose reaches a piece that stands elsewhere")

    def _with_room(
        self, carrier: Carrier, port: Port, piece: PieceType, chain: Chain, kinds: Iterable[str]
    ) -> PortOption | str:
        """Return the option, with the nozzle as shallow as the room allows, or why there is no room."""
        why = ""
        for depth in dict.fromkeys(chain.depth_m or (None,)):  # as shallow as allowed, else as deep
            roomy = []
            for kind in kinds:
                at = AtPort(carrier, port, piece, self._department.machine_kinds[kind])
                fault = self._fault(at, chain.links, depth)
                if fault:
                    why = why or fault
                else:
                    roomy.append(kind)
            if roomy:
                return PortOption(chain.links, chain.cost, depth, frozenset(roomy))
        return why

    def _fault(self, at: AtPort, links: tuple[str, ...], depth: float | None) -> str:
        for reply in self.replies_at(at, links, depth):
            # What fits has to be shown; whether it tips or drains may be unknown, and the piece's replies say so.
            if reply.answer is Answer.NO or (reply.question is Question.FITS and reply.answer is not Answer.YES):
                return reply.why
        return ""

    def replies_at(self, at: AtPort, links: tuple[str, ...], depth_m: float | None) -> list[Reply]:
        """Ask the geometry about a piece that stands at a port.

        Parameters
        ----------
        at
            The piece, the port and what is around them.
        links
            The chain between them.
        depth_m
            How far an injector nozzle stands inside [m].

        Returns
        -------
        list[Reply]
            Room, tipping, drainage, bend of the hose.
        """
        limits = self._department.limits.load
        chain = self.links(links)
        stands = standing(at.port, chain, depth_m or 0.0)
        bend = hose_bend(at.port, chain, inlet_gap_m(at.port, at.piece, stands), limits)
        replies = [clearance(at.piece, stands, at.carrier, at.machine, limits), tipping(at.piece, stands, limits)]
        replies.append(drainage(at.piece, stands.inclination_deg, limits, _ANY_WATER_C))
        return replies if bend is None else [*replies, bend]

    def links(self, names: Sequence[str]) -> list[ChainLink]:
        """Return the links of a chain.

        Parameters
        ----------
        names
            Keys of the accessories.

        Returns
        -------
        list[ChainLink]
            The links in the same order.
        """
        named = (self._department.accessories[name] for name in names)
        return [link for link in named if isinstance(link, ChainLink)]

    def reaches_over(
        self, piece: PieceType, stand: Port, standing_at: PortOption, port: Port, links: tuple[str, ...]
    ) -> Reply | None:
        """Answer whether a hose from another port reaches a piece where it stands.

        Parameters
        ----------
        piece
            The piece.
        stand
            The port at which it stands.
        standing_at
            How it stands there.
        port
            The other port.
        links
            The chain from there to its lumen.

        Returns
        -------
        Reply | None
            To **fits**; None where no hose is involved.
        """
        stands = standing(stand, self.links(standing_at.chain), standing_at.depth_m or 0.0)
        gap = inlet_gap_m(port, piece, stands)
        return hose_bend(port, self.links(links), gap, self._department.limits.load)
