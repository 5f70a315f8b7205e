"""A plan beside the catalogue: every name looked up, names that do not exist passed over."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from patency.catalogue import ChainLink, Placing
from patency.load import pieces_of_set
from patency.plan.checking.finding import Observation
from patency.quantities import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from patency.catalogue import Carrier, Day, Department, Lumen, Machine, MachineKind, PieceType, Port, Programme
    from patency.load import Connection, Load, PieceToPlace, PlacedPiece, Plan


@dataclass(frozen=True, slots=True)
class Place:
    """A placed piece that exists.

    Parameters
    ----------
    load
        The load.
    placed
        The piece as placed.
    type
        What the catalogue says of it.
    """

    load: Load
    placed: PlacedPiece
    type: PieceType

    def observe(self, sentence: str, answer: Answer = Answer.NO, port: str | None = None) -> Observation:
        """Say something about this piece.

        Parameters
        ----------
        sentence
            What is wrong or not known.
        answer
            ``no`` where a rule is broken, ``unknown`` where it is open.
        port
            The port in question, where there is one.

        Returns
        -------
        Observation
            The sentence with its place.
        """
        return Observation(sentence, self.load.id, self.placed.set, self.placed.piece, port, answer)


@dataclass(frozen=True, slots=True)
class Feed:
    """A connection of which port, lumen and links exist.

    Parameters
    ----------
    place
        The piece.
    connection
        The connection as planned.
    port
        The port.
    lumen
        The lumen.
    links
        The chain, link by link.
    """

    place: Place
    connection: Connection
    port: Port
    lumen: Lumen
    links: tuple[ChainLink, ...]

    def observe(self, sentence: str, answer: Answer = Answer.NO) -> Observation:
        """Say something about this connection.

        Parameters
        ----------
        sentence
            What is wrong or not known.
        answer
            ``no`` where a rule is broken, ``unknown`` where it is open.

        Returns
        -------
        Observation
            The sentence with its place.
        """
        return self.place.observe(sentence, answer, self.connection.port)


@dataclass(frozen=True)
class Case:
    """What the rules look at.

    Parameters
    ----------
    plan
        The plan.
    department
        The catalogue it has to agree with.
    day
        The working day it is for.
    """

    plan: Plan
    department: Department
    day: Day

    @cached_property
    def contents(self) -> dict[str, dict[str, PieceToPlace]]:
        """All pieces of every set that exists, by set and key."""
        return {
            name: {piece.key: piece for piece in pieces_of_set(self.department, name)} for name in self.department.sets
        }

    def carrier(self, load: Load) -> Carrier | None:
        """Return the carrier of a load.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Carrier | None
            None where it does not exist; so for all look-ups here.
        """
        return self.department.carriers.get(load.carrier)

    def machine(self, load: Load) -> Machine | None:
        """Return the machine of a load.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Machine | None
            The machine.
        """
        return self.department.machines.get(load.machine)

    def kind(self, load: Load) -> MachineKind | None:
        """Return the kind of machine of a load.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        MachineKind | None
            The kind.
        """
        return self.department.machine_kinds.get(load.machine_kind)

    def programme(self, load: Load) -> Programme | None:
        """Return the programme of a load.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        Programme | None
            The programme.
        """
        return self.department.programmes.get(load.programme)

    def free_again(self, load: Load) -> datetime:
        """Return when the carrier and the accessories of a load can be used again.

        Parameters
        ----------
        load
            The load.

        Returns
        -------
        datetime
            Its end and the time until the carrier is unloaded and back.
        """
        carrier = self.carrier(load)
        return load.ends + timedelta(seconds=carrier.back_after_unload_s if carrier else 0.0)

    def places(self, *placings: Placing) -> Iterator[Place]:
        """Walk through the placed pieces that exist.

        Parameters
        ----------
        *placings
            Only pieces placed so; all where nothing is given.

        Yields
        ------
        Place
            Each piece in its load.
        """
        for load in self.plan.loads:
            for placed in load.pieces:
                piece = self.contents.get(placed.set, {}).get(placed.piece)
                if piece is not None and (not placings or placed.placing in placings):
                    yield Place(load, placed, piece.piece_type)

    def feeds(self) -> Iterator[Feed]:
        """Walk through the connections whose parts all exist.

        Yields
        ------
        Feed
            Each connection with its port, lumen and links.
        """
        for place in self.places():
            carrier = self.carrier(place.load)
            for connection in place.placed.lumens:
                port = carrier.ports.get(connection.port) if carrier else None
                lumen = place.type.lumens.get(connection.lumen)
                named = [self.department.accessories.get(name) for name in connection.chain]
                links = tuple(link for link in named if isinstance(link, ChainLink))
                if port is not None and lumen is not None and len(links) == len(named):
                    yield Feed(place, connection, port, lumen, links)
