"""A second, plain account of what the events say, written from the rules and not from the ledger's code.

Reads events as they are exported and objects to what must never happen: a transition that is not in the table of
states, a held item planned, loaded, started, released or issued, an unmarked piece scanned, a piece in two places.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

_ROUND = (
    *("sterile-stored", "issued", "in-use", "used", "received", "dismantled", "loaded", "washed", "wash-released"),
    *("inspected", "assembled", "packed", "steam-loaded", "steam-run", "sterile-released", "sterile-stored"),
)
_SIDE = {
    "sterile-stored": "rewash quarantine loan-return",
    "issued": "rewash quarantine",
    "received": "missing-part quarantine",
    "dismantled": "missing-part quarantine",
    "loaded": "rewash",
    "washed": "rewash quarantine",
    "wash-released": "rewash quarantine missing-part repair loan-return",
    "inspected": "rewash quarantine missing-part repair loan-return retired",
    "assembled": "rewash quarantine missing-part repair",
    "packed": "rewash quarantine",
    "steam-loaded": "rewash",
    "steam-run": "rewash quarantine",
    "sterile-released": "rewash quarantine",
    "quarantine": "rewash repair loan-return retired",
    "repair": "received retired",
    "loan-return": "received",
    "rewash": "dismantled missing-part quarantine",
    "missing-part": "rewash quarantine retired",
}
LEGAL = set(pairwise(_ROUND))
LEGAL |= {(one, other) for one, others in _SIDE.items() for other in others.split()}
WAITS_FOR_HOLDS = {
    "dismantled", "loaded", "wash-released", "inspected", "assembled", "packed", "steam-loaded", "sterile-released",
    "sterile-stored", "issued",
}  # fmt: skip
COUNTED = {"dismantled", "loaded", "inspected", "assembled", "packed"}


class Witness:
    """Follows events one after the other."""

    def __init__(self) -> None:
        self.place: dict[str, str] = {}
        self.type: dict[str, str] = {}
        self.marked: dict[str, bool] = {}
        self.state: dict[str, str] = {}
        self.set_type: dict[str, str] = {}
        self.before: dict[str, list[str]] = {}
        self.loads: dict[str, dict[str, Any]] = {}
        self.holds: dict[str, tuple[str, str]] = {}
        self.usable: dict[str, int] = {}
        self.taken: dict[str, dict[str, int]] = {}

    def held(self, set_key: str) -> bool:
        things = {("set", set_key), ("type", self.set_type[set_key])}
        for piece, where in self.place.items():
            if where == f"set {set_key}":
                things |= {("piece", piece), ("type", self.type[piece])}
        things |= {("load", key) for key, load in self.loads.items() if set_key in load["inside"]}
        return bool(things & set(self.holds.values()))

    def sees(self, event: dict[str, Any]) -> None:
        what, name = event["what"], event["event"].replace(" ", "_")
        for piece, how in what.get("seen", {}).items():
            assert how == "by eye" or self.marked[piece], f"{piece} has no mark and was scanned"
        getattr(self, name, lambda _what: None)(what)

    def set_enrolled(self, what: dict[str, Any]) -> None:
        self.state[what["set_key"]], self.set_type[what["set_key"]] = "received", what["set_type"]
        self.before[what["set_key"]] = []

    def piece_enrolled(self, what: dict[str, Any]) -> None:
        assert what["piece"] not in self.place
        self.place[what["piece"]] = f"{what['place']['where']} {what['place']['key']}"
        self.type[what["piece"]], self.marked[what["piece"]] = what["type_key"], "mark" in what

    def piece_moved(self, what: dict[str, Any]) -> None:
        was = f"{what['from_place']['where']} {what['from_place']['key']}"
        assert self.place[what["piece"]] == was
        assert not what["scanned"] or self.marked[what["piece"]]
        self.place[what["piece"]] = f"{what['to']['where']} {what['to']['key']}"

    def _goes(self, set_key: str, to: str) -> None:
        was = self.state[set_key]
        back = was in {"quarantine", "missing-part"} and self.before[set_key][-1:] == [to]
        assert (was, to) in LEGAL or back, f"{set_key} went from {was} to {to}"
        waits = to in WAITS_FOR_HOLDS or back
        assert not (waits and self.held(set_key)), f"{set_key} is held and went from {was} to {to}"
        self.before[set_key].append(was)
        self.state[set_key] = to

    def set_moved(self, what: dict[str, Any]) -> None:
        set_key, load = what["set_key"], what.get("load")
        assert self.state[set_key] == what["from_state"]
        if load is not None:
            held = {("load", load), ("machine", self.loads[load]["machine"])} & set(self.holds.values())
            assert not held, f"{set_key} was loaded into {load}, which is held"
        if what["to"] in COUNTED and what["from_state"] != "quarantine":
            inside = {piece for piece, where in self.place.items() if where == f"set {set_key}"}
            assert set(what["seen"]) == inside, f"{set_key} went to {what['to']} otherwise than it was counted"
        self._goes(set_key, what["to"])
        if load is not None:
            self.loads[load]["inside"].add(set_key)
        elif what["to"] not in {"quarantine", "washed", "steam-run"}:
            for one in self.loads.values():
                one["inside"].discard(set_key)

    def move_corrected(self, what: dict[str, Any]) -> None:
        set_key = what["set_key"]
        assert self.state[set_key] == what["from_state"]
        assert self.before[set_key].pop() == what["to"]
        assert what["from_state"] not in {"washed", "wash-released", "steam-run", "sterile-released", "in-use", "used"}
        self.state[set_key] = what["to"]
        if what["from_state"] in {"loaded", "steam-loaded"}:
            for one in self.loads.values():
                one["inside"].discard(set_key)

    def load_planned(self, what: dict[str, Any]) -> None:
        assert ("machine", what["machine"]) not in self.holds.values()
        assert not any(self.held(key) for key in what["sets"]), f"{what['load']} was planned with a held set"
        inside = self.loads.get(what["load"], {"inside": set()})["inside"]
        self.loads[what["load"]] = {"machine": what["machine"], "kind": what["kind"], "inside": inside}

    def load_started(self, what: dict[str, Any]) -> None:
        load = self.loads[what["load"]]
        assert not any(self.held(key) for key in what["sets"]), f"{what['load']} was started with a held set"
        assert ("machine", load["machine"]) not in self.holds.values()
        assert set(what["sets"]) == load["inside"]
        load["gone"] = True

    def load_ended(self, what: dict[str, Any]) -> None:
        load = self.loads[what["load"]]
        after = {"wash": "washed", "steam": "steam-run"}[load["kind"]] if what["completed"] else "rewash"
        for key in list(load["inside"]):
            self._goes(key, after)
        if not what["completed"]:
            load["inside"].clear()

    def load_released(self, what: dict[str, Any]) -> None:
        load = self.loads[what["load"]]
        assert what["evidence"]["verdict"] == "met"
        assert ("machine", load["machine"]) not in self.holds.values()
        for key in what["sets"]:
            self._goes(key, {"wash": "wash-released", "steam": "sterile-released"}[load["kind"]])
            load["inside"].discard(key)

    def accessory_counted(self, what: dict[str, Any]) -> None:
        self.usable[what["accessory"]] = what["usable"]
        self._enough()

    def accessories_taken(self, what: dict[str, Any]) -> None:
        assert not self.loads[what["load"]].get("gone"), f"{what['load']} took accessories after its start"
        self.taken[what["load"]] = what["taken"]
        self._enough()

    def accessories_returned(self, what: dict[str, Any]) -> None:
        had = self.taken.pop(what["load"])
        for key, number in had.items():
            gone = number - what["back"].get(key, 0)
            assert gone >= 0
            assert gone == what.get("lost", {}).get(key, 0)
            assert not gone or what["why"]
            self.usable[key] -= gone
        self._enough()

    def _enough(self) -> None:
        for key, usable in self.usable.items():
            out = sum(taken.get(key, 0) for taken in self.taken.values())
            assert out <= usable, f"{out} {key} are in loads, {usable} are there"

    def hold_set(self, what: dict[str, Any]) -> None:
        self.holds[what["hold"]] = (what["scope"], what["key"])

    def hold_lifted(self, what: dict[str, Any]) -> None:
        del self.holds[what["hold"]]
