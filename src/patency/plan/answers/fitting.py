"""The answer to **fits**: chain, sleeve or nozzle, room, hose, basket, pod, coil, holder, and the mass of the load."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from patency.catalogue import FlushingSleeve, InjectorNozzle, OpticHolder, Placing, Pod, Strainer
from patency.load import Figure, Question, Reply, pieces_of_set
from patency.plan.fits import AtPort, Fitter, PortOption
from patency.plan.links.chains import find_chains, start_of
from patency.plan.links.unreachable import connector_words, missing_link
from patency.plan.stowing import areas_to_stand_in
from patency.quantities import Answer, Limit
from patency.reach import basket_fit, coil_fit, joined, pod_fit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue import Department, Lumen, PieceType
    from patency.load import Connection, Load, PlacedPiece


class Fitting:
    """Answers for the pieces of one load.

    Parameters
    ----------
    department
        The department, with the limits that hold on the day.
    load
        The load.
    """

    def __init__(self, department: Department, load: Load) -> None:
        self._department = department
        self._load = load
        self._carrier = department.carriers[load.carrier]
        self._types = {
            (piece.set, piece.key): piece.piece_type for name in load.sets for piece in pieces_of_set(department, name)
        }
        self._fitter = Fitter(department)
        self._mass = self._mass_reply()

    def reply(self, placed: PlacedPiece) -> Reply:
        """Answer for one piece.

        Parameters
        ----------
        placed
            The piece in its place.

        Returns
        -------
        Reply
            The worst of all parts with the figures of all.
        """
        piece = self._types[placed.set, placed.piece]
        match placed.placing:
            case Placing.PORT:
                parts = list(self._at_port(placed, piece))
            case Placing.BASKET:
                parts = [basket_fit(piece, self._carrier.basket_areas[placed.position])]
            case Placing.POD:
                parts = self._standing(placed, self._in_pod(piece))
            case Placing.COIL_RACK:
                parts = [coil_fit(piece, self._carrier.coil_places[placed.position])]
            case Placing.OPTIC_HOLDER:
                parts = self._standing(placed, self._in_holder(placed, piece))
        return joined(Question.FITS, [*parts, self._mass])

    def _at_port(self, placed: PlacedPiece, piece: PieceType) -> Iterator[Reply]:
        stand = self._carrier.ports[placed.position]
        kinds = frozenset({self._load.machine_kind})
        standing_at = PortOption((), 0, None, kinds)
        for connection in placed.lumens:
            if connection.port == placed.position:
                standing_at = PortOption(connection.chain, 0, connection.nozzle_depth_m, kinds)
        for connection in placed.lumens:
            yield self._joined(connection, piece.lumens[connection.lumen])
            if connection.port != placed.position:
                port = self._carrier.ports[connection.port]
                over = self._fitter.reaches_over(piece, stand, standing_at, port, connection.chain)
                why = "no hose reaches over from its port to where the piece stands"
                yield over or Reply(Question.FITS, Answer.NO, why)
        machine = self._department.machine_kinds[self._load.machine_kind]
        at = AtPort(self._carrier, stand, piece, machine)
        at_port = self._fitter.replies_at(at, standing_at.chain, standing_at.depth_m)
        yield from (reply for reply in at_port if reply.question is Question.FITS)

    def _joined(self, connection: Connection, lumen: Lumen) -> Reply:
        """Answer whether a chain is one of the legal ones, with the figures of its last link."""
        start = start_of(self._carrier.ports[connection.port])
        legal = {chain.links: chain for chain in find_chains(self._department, start, lumen)}
        chain = legal.get(connection.chain)
        figures = tuple(self._figures(connection, lumen))
        if chain is None:
            why = f"{connection.lumen}: the chain {_told(connection)} does not join"
            if not legal:
                why = f"{connection.lumen}: {missing_link(self._department, [start], lumen)}"
            return Reply(Question.FITS, Answer.NO, why, figures)
        if chain.depth_m is not None:
            least, most = chain.depth_m
            depth = connection.nozzle_depth_m
            if depth is None or not least - 1e-6 <= depth <= most + 1e-6:
                why = f"{connection.lumen}: the nozzle has to stand {1000 * least:.0f} to {1000 * most:.0f} mm inside"
                return Reply(Question.FITS, Answer.NO, why, figures)
        links = self._fitter.links(connection.chain)
        if lumen.strainer_upstream is None and not any(isinstance(link, Strainer) for link in links):
            why = f"{connection.lumen}: whether it needs a strainer in line is not stated"
            return Reply(Question.FITS, Answer.UNKNOWN, why, figures)
        why = f"{connection.lumen}: {connector_words(self._department, start)}, joined through {_told(connection)}"
        return Reply(Question.FITS, Answer.YES, why, figures)

    def _figures(self, connection: Connection, lumen: Lumen) -> Iterator[Figure]:
        limits = self._department.limits.load
        yield Figure("links in the chain", float(len(connection.chain)), "1")
        last = self._department.accessories[connection.chain[-1]] if connection.chain else None
        if isinstance(last, InjectorNozzle):
            first = lumen.segments[0]
            if first.shape == "bore":
                share = last.outer_m / first.bore_m.nominal
                yield Figure("nozzle as a share of the bore", share, "1", limit=limits.nozzle_share_of_bore)
            if connection.nozzle_depth_m is not None:
                yield Figure("depth of the nozzle", connection.nozzle_depth_m, "m", limit=limits.nozzle_depth)
        if isinstance(last, FlushingSleeve) and lumen.grip_m is not None:
            offered = Limit(last.least_overlap_m, "m", f"the description of {last.name}: least overlap")
            yield Figure("length of tube offered to the sleeve", lumen.grip_m, "m", limit=offered)

    def _in_pod(self, piece: PieceType) -> Reply:
        pods = [accessory for accessory in self._department.accessories.values() if isinstance(accessory, Pod)]
        replies = [pod_fit(piece, pod) for pod in pods]
        fitting = [reply for reply in replies if reply.answer is Answer.YES]
        return next(iter([*fitting, *replies]), Reply(Question.FITS, Answer.NO, "the department has no pod"))

    def _standing(self, placed: PlacedPiece, lies: Reply) -> list[Reply]:
        """Answer also, where a piece fits its pod or holder, whether that finds room beside what else stands there."""
        pieces = pieces_of_set(self._department, placed.set)
        if lies.answer is not Answer.YES:
            return [lies]
        if placed.stands_in is None:
            if not self._department.sets[placed.set].basket_areas:
                return [lies]
            return [lies, Reply(Question.FITS, Answer.UNKNOWN, "in which basket area it stands is not planned")]
        room = placed.stands_in in areas_to_stand_in(self._department, self._carrier, pieces)
        answer, words = (Answer.YES, "finds room") if room else (Answer.NO, "finds no room")
        return [lies, Reply(Question.FITS, answer, f"{words} in {placed.stands_in} beside what else stands there")]

    def _in_holder(self, placed: PlacedPiece, piece: PieceType) -> Reply:
        holder = self._department.accessories[placed.position]
        if not isinstance(holder, OpticHolder):
            return Reply(Question.FITS, Answer.NO, f"{placed.position} holds no optics")
        source = f"the description of {holder.name}"
        figures = (
            Figure("length", piece.length_m, "m", limit=Limit(holder.holds_length_m, "m", source)),
            Figure("thickness", piece.widest_m, "m", limit=Limit(holder.holds_width_m, "m", source)),
        )
        over = [f.name for f in figures if f.limit is not None and f.value > f.limit.value + 1e-9]
        if over:
            return Reply(Question.FITS, Answer.NO, f"{' and '.join(over)} more than the holder takes", figures)
        return Reply(Question.FITS, Answer.YES, f"lies in {holder.name}", figures)

    def _mass_reply(self) -> Reply:
        masses = [self._types[placed.set, placed.piece].mass_kg for placed in self._load.pieces]
        total = math.fsum(mass for mass in masses if mass is not None)
        allowed = self._carrier.mass_limit_kg
        limit = None if allowed is None else Limit(allowed, "kg", "the carrier's description: mass limit")
        figures = (Figure("mass of the load", total, "kg", limit=limit),)
        if allowed is not None and total > allowed + 1e-9:
            return Reply(
                Question.FITS, Answer.NO, f"the load has {total:.1f} kg, allowed are {allowed:.1f} kg", figures
            )
        if None in masses:
            return Reply(Question.FITS, Answer.UNKNOWN, "the mass of a piece of the load is not known", figures)
        if allowed is None:
            return Reply(Question.FITS, Answer.UNKNOWN, "the carrier's limit of mass is not known", figures)
        return Reply(Question.FITS, Answer.YES, f"the load has {total:.1f} of {allowed:.1f} kg", figures)


def _told(connection: Connection) -> str:
    return " + ".join(connection.chain) or "no accessory"
