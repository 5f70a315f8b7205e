"""What the pieces of a set demand of a carrier, and the ways in which each carrier meets it."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from patency.catalogue import Placing
from patency.plan.port_groups import LumenKind, PortTable, lumen_kinds
from patency.plan.search.problem import Places, Way
from patency.plan.stowing import (
    areas_for,
    areas_to_stand_in,
    coil_places_for,
    first_and_last,
    holders_for,
    nets,
    placed,
    pods_for,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from patency.catalogue import Department
    from patency.load import PieceToPlace


class Demands:
    """The demands of all sets.

    Lumens that can be fed in the same ways and through which water runs in the same way are one demand.

    Parameters
    ----------
    department
        The department.
    table
        Which lumen can be fed from which port.
    pieces
        The pieces of each set.
    """

    def __init__(self, department: Department, table: PortTable, pieces: Mapping[str, list[PieceToPlace]]) -> None:
        self._department = department
        self._table = table
        self._pieces = pieces
        self.ways: dict[str, dict[str, tuple[Way, ...]]] = {name: {} for name in table.carriers}
        self.places: dict[str, dict[str, Places]] = {name: {} for name in table.carriers}
        self.words: dict[str, str] = {}
        self.of_lumen: dict[LumenKind, str] = {}
        self._needs: dict[str, Counter[str]] = {name: Counter() for name in pieces}
        self._lumens()
        self._racks()
        self._baskets()
        self._accessories()

    def needs(self, name: str) -> dict[str, int]:
        """Return what a set demands.

        Parameters
        ----------
        name
            The set.

        Returns
        -------
        dict[str, int]
            Demand to number.
        """
        return dict(self._needs[name])

    def barred(self, name: str) -> frozenset[str]:
        """Return the carriers on which some demand of a set has no way.

        Parameters
        ----------
        name
            The set.

        Returns
        -------
        frozenset[str]
            The carriers.
        """
        return frozenset(c for c in self._table.carriers if any(not self.ways[c].get(d) for d in self._needs[name]))

    def too_heavy_perhaps(self, name: str) -> frozenset[str]:
        """Return the carriers with a limit of mass, where the mass of some piece of a set is not known.

        Parameters
        ----------
        name
            The set.

        Returns
        -------
        frozenset[str]
            The carriers.
        """
        if all(piece.piece_type.mass_kg is not None for piece in self._pieces[name]):
            return frozenset()
        limited = (c for c in self._table.carriers if self._department.carriers[c].mass_limit_kg is not None)
        return frozenset(limited)

    def why_none(self, name: str) -> str:
        """Say why no carrier takes a set; empty where one does.

        Parameters
        ----------
        name
            The set.

        Returns
        -------
        str
            For a demand that no carrier meets the reason, else what each carrier lacks.
        """
        carriers = self._table.carriers
        open_to = [c for c in carriers if c not in self.barred(name)]
        if any(c not in self.too_heavy_perhaps(name) for c in open_to):
            return ""
        if open_to:
            piece = next(p for p in self._pieces[name] if p.piece_type.mass_kg is None)
            return f"the mass of {piece.key} is not known, and {' and '.join(open_to)} may carry only so much"
        nowhere = [d for d in self._needs[name] if not any(self.ways[c].get(d) for c in carriers)]
        if nowhere:
            return "; ".join(f"{self.words[d]}: {self._why(d, carriers)}" for d in nowhere)
        lacks = []
        for carrier in carriers:
            missing = [self.words[d] for d in self._needs[name] if not self.ways[carrier].get(d)]
            lacks.append(f"{carrier} does not take {', '.join(missing)}")
        return "no single carrier takes all of it: " + "; ".join(lacks)

    def _why(self, demand: str, carriers: Iterable[str]) -> str:
        for kind, known in self.of_lumen.items():
            if known == demand:
                return self._table.why_none(carriers, kind)
        return "no carrier has a place for it, or the department nothing that takes it"

    def _lumens(self) -> None:
        seen: dict[tuple[object, ...], str] = {}
        for kind, piece in self._table.types.items():
            lumen = piece.lumens[kind[2]]
            ways = {c: self._port_ways(c, kind) for c in self._table.carriers}
            water = lumen.model_dump_json(include={"segments", "need", "fed_by", "strainer_upstream"})
            validated = tuple(self._validated(kind))
            demand = seen.setdefault((water, validated, tuple(ways.items())), "/".join(kind))
            self.of_lumen[kind] = demand
            self.words.setdefault(demand, f"{demand} ({piece.name})")
            for carrier, those in ways.items():
                self.ways[carrier][demand] = those
        for name, pieces in self._pieces.items():
            ported = [piece for piece in pieces if piece.piece_type.placing is Placing.PORT]
            self._needs[name].update(self.of_lumen[kind] for piece in ported for kind in lumen_kinds(piece))

    def _validated(self, kind: LumenKind) -> Iterator[str]:
        """What reference loads say of a lumen: two that are held against different numbers are not one demand."""
        for name, reference in self._department.reference_loads.items():
            for lumen in reference.lumens:
                if (lumen.instrument, lumen.piece, lumen.lumen) == kind:
                    yield f"{name} {lumen.flow} {lumen.shear}"

    def _port_ways(self, carrier: str, kind: LumenKind) -> tuple[Way, ...]:
        options = self._table.options[carrier, kind]
        everywhere = self._table.kinds(carrier)
        ways = []
        for group, ports in self._table.groups[carrier].items():
            for option in options.get(ports[0], ()):
                uses = tuple(sorted(Counter(option.chain).items()))
                ways.append(Way(group, uses, option.cost, None if option.kinds == everywhere else option.kinds))
        return tuple(ways)

    def _racks(self) -> None:
        cables = {(p.instrument, p.piece): p.piece_type for p in self._placed(Placing.COIL_RACK)}
        for carrier in self._table.carriers:
            described = self._department.carriers[carrier]
            fits = {key: coil_places_for(described, cable) for key, cable in cables.items()}
            groups = self._alike(carrier, list(described.coil_places), list(fits.values()), "coil places")
            for key, places in fits.items():
                self.ways[carrier]["/".join(key)] = self._onto(groups, places)
        for (instrument, piece), cable in cables.items():
            self.words[f"{instrument}/{piece}"] = f"{instrument}/{piece} ({cable.name})"
        for name, pieces in self._pieces.items():
            racked = [p for p in pieces if p.piece_type.placing is Placing.COIL_RACK]
            self._needs[name].update(f"{p.instrument}/{p.piece}" for p in racked)

    def _baskets(self) -> None:
        """One area of a set takes every loose piece of it, so that one net can cover what jets could lift.

        Its pod and optic holders stand in one area too: in the same, or in its last where no area serves for both.
        """
        loose = {name: placed(pieces, Placing.BASKET) for name, pieces in self._pieces.items()}
        counts = {name: self._department.sets[name].basket_areas for name in loose}
        apart = set()
        for carrier in self._table.carriers:
            described = self._department.carriers[carrier]
            areas = list(described.basket_areas)
            firsts, lasts = {}, {}
            for name, pieces in loose.items():
                stand = areas_to_stand_in(self._department, described, self._pieces[name])
                lie = areas_for(described, pieces)
                firsts[name], lasts[name] = first_and_last(described, lie, stand, counts[name])
                if lasts[name] != areas:
                    apart.add(name)
            groups = self._alike(carrier, areas, [*firsts.values(), *lasts.values()], "basket areas")
            self.ways[carrier]["basket area"] = tuple(Way(group) for group in dict.fromkeys(groups.values()))
            for name in loose:
                self.ways[carrier][f"basket area for {name}"] = self._onto(groups, firsts[name])
                self.ways[carrier][f"standing area for {name}"] = self._onto(groups, lasts[name])
        self.words["basket area"] = "basket area"
        for name, pieces in loose.items():
            self._areas_of(name, counts[name], loose=bool(pieces), apart=name in apart)

    def _areas_of(self, name: str, count: int, *, loose: bool, apart: bool) -> None:
        """Ask for the basket areas of a set: one for what lies loose, where needed one for what stands, any others."""
        first, last = f"basket area for {name}", f"standing area for {name}"
        self.words[first] = f"loose pieces of {name}" + ("" if count else ", which takes no basket area")
        self.words[last] = f"pod and optic holders of {name}"
        if loose or count:
            self._needs[name][first] = 1
        if apart:
            self._needs[name][last] = 1
        others = count - 1 - apart
        if others > 0:
            self._needs[name]["basket area"] = others
        if loose and not count:
            for carrier in self._table.carriers:
                self.ways[carrier][first] = ()

    def _accessories(self) -> None:
        covers = nets(self._department)
        for name, pieces in self._pieces.items():
            small = placed(pieces, Placing.POD)
            if small:
                self._takes(name, f"pod for {name}", pods_for(self._department, small), f"small parts of {name}")
            if any(piece.goes_under_net for piece in placed(pieces, Placing.BASKET)):
                self._takes(name, "hold-down net", covers, "hold-down net")
            for piece in pieces:
                if piece.piece_type.placing is Placing.OPTIC_HOLDER:
                    key = f"{piece.instrument}/{piece.piece}"
                    words = f"{key} ({piece.piece_type.name})"
                    self._takes(name, key, holders_for(self._department, piece.piece_type), words)

    def _takes(self, name: str, demand: str, accessories: list[str], words: str) -> None:
        self.words[demand] = words
        ways = tuple(Way(None, ((accessory, 1),)) for accessory in accessories)
        for carrier in self._table.carriers:
            self.ways[carrier][demand] = ways
        self._needs[name][demand] += 1

    def _placed(self, placing: Placing) -> list[PieceToPlace]:
        return [p for pieces in self._pieces.values() for p in pieces if p.piece_type.placing is placing]

    def _alike(self, carrier: str, places: list[str], takers: list[list[str]], words: str) -> dict[str, str]:
        """Put places together that take the same, and return the group of each."""
        groups: dict[tuple[bool, ...], list[str]] = {}
        for place in places:
            groups.setdefault(tuple(place in taker for taker in takers), []).append(place)
        found: dict[str, str] = {}
        for members in groups.values():
            key = f"{words} {members[0]}"
            self.places[carrier][key] = Places(len(members), None, words)
            found |= dict.fromkeys(members, key)
        return found

    def _onto(self, groups: Mapping[str, str], places: list[str]) -> tuple[Way, ...]:
        return tuple(Way(group) for group in dict.fromkeys(groups[place] for place in places))
