"""The trace once more, by brute force: every event read, every way of every set tried for every piece, nothing kept."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import product
from typing import Any

Found = dict[tuple[str, str], tuple[int, int]]
"""Kind and key to distance and strength."""


@dataclass
class Lay:
    piece: str
    set_key: str
    first: int
    last: float
    doubt: int


@dataclass
class Went:
    seq: int
    set_key: str
    kind: str
    key: str
    scanned: set[str]
    released: int | None = None


@dataclass
class Account:
    """What the events say, as plain lists."""

    lays: list[Lay] = field(default_factory=list)
    ways: list[Went] = field(default_factory=list)
    marked: dict[str, bool] = field(default_factory=dict)
    type: dict[str, str] = field(default_factory=dict)
    runs: dict[str, dict[str, Any]] = field(default_factory=dict)
    end: int = 0

    @classmethod
    def of(cls, events: list[dict[str, Any]]) -> Account:
        account = cls()
        certain: dict[str, int] = {}
        scanned: dict[str, set[str]] = {}
        where: dict[str, Went] = {}
        plans: dict[str, dict[str, Any]] = {}
        for event in events:
            seq, what, name = event["seq"], event["what"], event["event"]
            account.end = seq
            if what.get("seen"):
                scanned[what["set_key"]] = {key for key, how in what["seen"].items() if how == "scanned"}
                certain.update((key, seq) for key in scanned[what["set_key"]] - set(what.get("found", ())))
            if name == "piece enrolled":
                account.marked[what["piece"]], account.type[what["piece"]] = "mark" in what, what["type_key"]
                certain[what["piece"]] = seq
                if what["place"]["where"] == "set":
                    account.lays.append(Lay(what["piece"], what["place"]["key"], seq, float("inf"), seq))
            elif name == "piece moved":
                account._moved(what, seq, certain)
            elif name == "set moved":
                if "load" in what:
                    kind = plans[what["load"]]["kind"]
                    went = Went(seq, what["set_key"], kind, what["load"], scanned.get(what["set_key"], set()))
                    account.ways.append(went)
                    where[what["set_key"]] = went
                elif "case" in what:
                    went = Went(seq, what["set_key"], "case", what["case"], scanned.get(what["set_key"], set()))
                    account.ways.append(went)
                elif what["from_state"] in {"loaded", "steam-loaded"}:
                    account.ways.remove(where[what["set_key"]])
            elif name == "move corrected":
                account.ways = [went for went in account.ways if went.seq != what["corrects"]]
            elif name == "load planned":
                plans[what["load"]] = what
            elif name == "load started":
                plan = plans[what["load"]]
                account.runs[what["load"]] = {**plan, "started": seq, "ended": float("inf")}
            elif name == "load ended":
                account.runs[what["load"]]["ended"] = seq
            elif name == "load released":
                for went in account.ways:
                    if went.key == what["load"] and went.set_key in what["sets"]:
                        went.released = seq
        return account

    def _moved(self, what: dict[str, Any], seq: int, certain: dict[str, int]) -> None:
        piece = what["piece"]
        for lay in self.lays:
            if lay.piece == piece and lay.last == float("inf"):
                lay.last = seq
        noticed = what.get("noticed", False)
        if what["to"]["where"] == "set":
            doubt = certain[piece] if noticed else seq
            self.lays.append(Lay(piece, what["to"]["key"], seq, float("inf"), doubt))
        if what["scanned"] or not noticed:
            certain[piece] = seq

    def possible(self, piece: str, seq: int) -> list[Lay]:
        return [lay for lay in self.lays if lay.piece == piece and lay.doubt <= seq < lay.last]

    def inside(self, set_key: str, seq: int) -> list[str]:
        return [lay.piece for lay in self.lays if lay.set_key == set_key and lay.doubt <= seq < lay.last]

    def certain(self, piece: str, went: Went) -> bool:
        lays = self.possible(piece, went.seq)
        return len(lays) == 1 and lays[0].set_key == went.set_key and lays[0].first <= went.seq

    def strength(self, piece: str, went: Went) -> int:
        if not self.marked[piece]:
            return 1
        return 3 if self.certain(piece, went) and piece in went.scanned else 2


def _note(found: Found, kind: str, key: str, distance: int, strength: int) -> None:
    before = found.get((kind, key), (9, 0))
    found[kind, key] = min(before, (distance, strength), key=lambda one: (one[0], -one[1]))


Exposure = tuple[str, int, int, int]
"""Piece, since, distance, strength."""


def forward(
    account: Account,
    exposures: list[Exposure],
    shared: str,
    ends_with: str = "",
    suspects: frozenset[str] = frozenset(),
) -> Found:
    """Follow each piece through everything that came after."""
    found: Found = {}
    waiting = [*exposures]
    done: set[Exposure] = set()
    while waiting:
        exposure = waiting.pop()
        if exposure in done:
            continue
        done.add(exposure)
        piece, since, distance, strength = exposure
        _note(found, "piece", piece, distance, strength)
        end = float("inf")
        met = False
        for went in sorted(account.ways, key=lambda one: one.seq):
            if went.seq < since or went.set_key not in {lay.set_key for lay in account.possible(piece, went.seq)}:
                continue
            certain = account.certain(piece, went)
            if certain and went.kind == ends_with and went.released is not None and went.key not in suspects:
                end = went.seq
                break
            sure = min(strength, account.strength(piece, went))
            _note(found, "case" if went.kind == "case" else "load", went.key, distance, sure)
            _note(found, "set", went.set_key, distance, sure)
            if went.kind == "wash" and distance == 0 and shared != "none" and not met:
                for other in account.ways:
                    if other.key == went.key and other.kind == "wash" and other.set_key != went.set_key:
                        waiting += [
                            (one, other.seq, 1, min(sure, account.strength(one, other)))
                            for one in account.inside(other.set_key, other.seq)
                        ]
                met = certain and shared == "first"
        for lay in account.lays:
            if lay.piece == piece and lay.last > since and max(lay.doubt, since) <= end:
                here = strength if lay.first <= since else min(strength, 2 if account.marked[piece] else 1)
                _note(found, "set", lay.set_key, distance, here)
    return found


def exposures_of(account: Account, kind: str, key: str, since: int) -> list[Exposure]:
    """Say which pieces are followed from a piece, a set or a case."""
    if kind == "case":
        return [
            (piece, went.seq, 0, account.strength(piece, went))
            for went in account.ways
            if went.key == key
            for piece in account.inside(went.set_key, went.seq)
        ]
    if kind == "set":
        return [
            (lay.piece, max(lay.doubt, since), 0, 2 if account.marked[lay.piece] else 1)
            for lay in account.lays
            if lay.set_key == key and lay.last > since
        ]
    own = [(key, since, 0, 3 if account.marked[key] else 1)]
    if account.marked[key]:
        return own
    mine = [lay for lay in account.lays if lay.piece == key and lay.last > since]
    twins = [
        (lay.piece, max(lay.doubt, since), 0, 1)
        for lay, here in product(account.lays, mine)
        if lay.piece != key and lay.set_key == here.set_key and lay.last > since
        if account.type[lay.piece] == account.type[key] and not account.marked[lay.piece]
        if lay.doubt < here.last and here.doubt < lay.last
    ]
    return own + twins


def exposures_of_loads(account: Account, loads: list[str]) -> list[Exposure]:
    """Say which pieces are followed from loads in doubt."""
    return [
        (piece, went.seq, 0, account.strength(piece, went))
        for went in account.ways
        if went.key in loads
        for piece in account.inside(went.set_key, went.seq)
    ]


def suspect_loads(events: list[dict[str, Any]], account: Account, kind: str, key: str) -> list[str]:
    """Name the loads that a load, machine or sample puts in doubt."""
    if kind == "load":
        return [key] if key in account.runs else []
    low, high = 0.0, float("inf")
    machines = {key}
    if kind == "machine":
        tests = [one for one in events if one["event"] == "machine tested" and one["what"]["machine"] == key]
        failed = [one for one in tests if not one["what"]["passed"]]
        passed = [one["seq"] for one in tests if one["what"]["passed"]]
        if failed:
            low = min(max((seq for seq in passed if seq < one["seq"]), default=0) for one in failed)
            high = max(min((seq for seq in passed if seq > one["seq"]), default=float("inf")) for one in failed)
    else:
        taken = {one["what"]["sample"]: one["seq"] for one in events if one["event"] == "water sampled"}
        judged = [one["what"] for one in events if one["event"] == "sample judged"]
        good = [taken[one["sample"]] for one in judged if one["within"] and one["sample"] != key]
        low = max((seq for seq in good if seq < taken[key]), default=0)
        high = min((seq for seq in good if seq > taken[key]), default=float("inf"))
        machines = {"Alder", "Birch"}
    return [
        load
        for load, run in account.runs.items()
        if run["machine"] in machines and run["ended"] > low and run["started"] < high
    ]


def _last(account: Account, kind: str, piece: str, before: int) -> Went | None:
    ways = [
        went
        for went in account.ways
        if went.kind == kind and went.seq < before
        if kind == "case" or (went.released is not None and went.released < before)
        if any(lay.set_key == went.set_key for lay in account.possible(piece, went.seq))
    ]
    return max(ways, key=lambda one: one.seq, default=None)


def backward(account: Account, asked: list[tuple[str, int, int]], shared: str) -> Found:
    """Look where each piece came from: piece, before which event, strength."""
    found: Found = {}
    waiting = [(piece, before, 0, strength) for piece, before, strength in asked]
    while waiting:
        piece, before, distance, strength = waiting.pop()
        _note(found, "piece", piece, distance, strength)

        past = [_last(account, "case", piece, before)]
        if distance == 0:
            wash = _last(account, "wash", piece, before)
            past += [wash, _last(account, "steam", piece, before)]
            past += [_last(account, "case", piece, wash.seq)] if wash else []
        for went in past:
            if went is None:
                continue
            sure = min(strength, account.strength(piece, went))
            _note(found, "case" if went.kind == "case" else "load", went.key, distance, sure)
            _note(found, "set", went.set_key, distance, sure)
            if went.kind != "case":
                _note(found, "machine", account.runs[went.key]["machine"], distance, sure)
            if went.kind == "wash" and distance == 0 and shared != "none":
                for other in account.ways:
                    if other.key == went.key and other.set_key != went.set_key:
                        _note(found, "set", other.set_key, 1, sure)
                        waiting += [
                            (one, other.seq, 1, min(sure, account.strength(one, other)))
                            for one in account.inside(other.set_key, other.seq)
                        ]
    return found
