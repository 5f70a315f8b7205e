"""What to do when a piece cannot be connected as planned: the next best permitted ways, each with what it costs."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from patency.catalogue import Cap, FlushingSleeve
from patency.flow import fed, nominal_flow_of_load
from patency.ledger import CountAccessory, Kind, Refused, Role, Stock, TakeAccessories
from patency.plan import other_ways
from patency.quantities import Answer
from patency.steps.at_the_bench.load_progress import FORM, changed, progress_of
from patency.steps.at_the_bench.load_steps import steps_of_load
from patency.steps.at_the_bench.loading import Loading, accessories_of, show_loading
from patency.steps.at_the_bench.permission import SOILED, not_permitted
from patency.steps.at_the_bench.workplace import note

if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import Any

    from patency.flow import LoadFlow
    from patency.ledger import Circumstances, Command
    from patency.load import Connection, Load, PlacedPiece
    from patency.steps.at_the_bench.workplace import Workplace

_TRIED = 10
_SHOWN = 4
_NOTICED = 0.005  # a change of less than half a per cent is not worth a word
_LEAD = frozenset({Role.LEAD})


class Wrong(StrEnum):
    """What is wrong at a port."""

    PORT_BLOCKED = "port blocked"
    SLEEVE_TORN = "sleeve torn"
    LINK_BROKEN = "connector broken"
    CAP_MISSING = "cap missing"


@dataclass(frozen=True, slots=True)
class Way:
    """One permitted way to go on.

    Parameters
    ----------
    key
        Tells it from the others.
    words
        What to do.
    costs
        What it costs the other lumens, worst first, one line each; empty where it costs them nothing that counts.
    shorts
        How many lumens get too little that got enough before.
    needs_lead
        Whether a lead has to confirm too.
    change
        What it changes in the load.
    """

    key: str
    words: str
    costs: tuple[str, ...]
    shorts: int
    needs_lead: bool
    change: dict[str, Any] = field(hash=False)


@dataclass(frozen=True, slots=True)
class Ways:
    """What can be done about something wrong.

    Parameters
    ----------
    load_id, wrong, port
        What is wrong, and where.
    ways
        The permitted ways, the best first.
    spent
        Accessories that are no longer in working order.
    otherwise
        What is left where none is good enough.
    """

    load_id: str
    wrong: Wrong
    port: str
    ways: tuple[Way, ...]
    spent: tuple[str, ...] = ()
    otherwise: str = "Leave the whole set out of this load and call the lead: its pieces stay together."


def ways_on(workplace: Workplace, load_id: str, wrong: Wrong, port: str) -> Ways | Refused:
    """Offer the next best permitted ways.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    wrong
        What is wrong.
    port
        At which port.

    Returns
    -------
    Ways or Refused
        Each with what it costs the other lumens, from a new calculation of the flow at nominal sizes.
    """
    load = workplace.load(load_id)
    if isinstance(load, Refused):
        return load
    now = progress_of(workplace, load).load
    if port not in workplace.department.carriers[now.carrier].ports:
        return Refused.because(f"port {port}", f"is none of {now.carrier}", "a port of the carrier")
    found = _uncapped(workplace, now, port) if wrong is Wrong.CAP_MISSING else _reconnected(workplace, now, wrong, port)
    before = nominal_flow_of_load(workplace.department, now)
    ways = [_priced(workplace, now, before, one) for one in found]
    ways.sort(key=lambda way: (way.needs_lead, way.shorts))
    return Ways(load_id, wrong, port, tuple(ways[:_SHOWN]), _spent(workplace, now, wrong, port))


def _spent(workplace: Workplace, load: Load, wrong: Wrong, port: str) -> tuple[str, ...]:
    """Name what is broken: the cap, the sleeve, or the first link that is no sleeve."""
    chain = next((one.chain for piece in load.pieces for one in piece.lumens if one.port == port), ())
    sleeves = [link for link in chain if isinstance(workplace.department.accessories[link], FlushingSleeve)]
    others = [link for link in chain if link not in sleeves]
    caps = [one.cap for one in load.capped_ports if one.port == port]
    broken = {Wrong.CAP_MISSING: caps, Wrong.SLEEVE_TORN: sleeves, Wrong.LINK_BROKEN: others, Wrong.PORT_BLOCKED: []}
    return tuple(broken[wrong][:1])


@dataclass(frozen=True, slots=True)
class _Found:
    key: str
    words: str
    change: dict[str, Any] = field(hash=False)
    needs_lead: bool = False


def _spare(workplace: Workplace) -> dict[str, int]:
    """Count what no load has; what the ledger never counted is not at hand."""
    return {stock.accessory: stock.free for stock in workplace.ledger.all_of(Stock) if stock.free > 0}


def _reconnected(workplace: Workplace, load: Load, wrong: Wrong, port: str) -> Iterator[_Found]:
    holder = next((piece for piece in load.pieces if any(one.port == port for one in piece.lumens)), None)
    if holder is None:
        return
    connection = next(one for one in holder.lumens if one.port == port)
    spare = _spare(workplace)
    if wrong is Wrong.PORT_BLOCKED:  # its chain is still good and can go elsewhere
        for link in connection.chain:
            spare[link] = spare.get(link, 0) + 1
        closed = {port}
    else:
        closed = set()
        if all(spare.get(link, 0) > 0 for link in connection.chain):
            words = " and ".join(workplace.department.accessories[link].name for link in connection.chain)
            yield _Found("same", f"Take another {words} from the shelf, same port", {})
    ways = other_ways(
        workplace.department, load, holder, connection.lumen, workplace.plan.day, closed=closed, spare=spare
    )
    for way in ways[:_TRIED]:
        yield _moved(workplace, load, holder, connection, way.connection)


def _moved(workplace: Workplace, load: Load, holder: PlacedPiece, old: Connection, new: Connection) -> _Found:
    accessories = workplace.department.accessories
    chain = " > ".join(accessories[link].name for link in new.chain) or "straight on"
    caps = {one.port: one.cap for one in load.capped_ports}
    capped = {new.port: "", old.port: caps.get(new.port, "")} if new.port != old.port else {}
    change = {
        "set": holder.set,
        "piece": holder.piece,
        "connection": new.model_dump(mode="json"),
        "capped": capped,
        "open": [old.port] if new.port != old.port and not caps.get(new.port) else [],
    }
    move = f"Cap from {new.port} to {old.port}. " if capped.get(old.port) else ""
    return _Found(f"{new.port} {' '.join(new.chain)}", f"{move}Connect at {new.port}: {chain}", change)


def _uncapped(workplace: Workplace, load: Load, port: str) -> Iterator[_Found]:
    """Offer another cap, the cap of a port that does less harm open, or to leave it open."""
    department, spare = workplace.department, _spare(workplace)
    ports = department.carriers[load.carrier].ports
    fitting = [
        key
        for key, one in department.accessories.items()
        if isinstance(one, Cap) and one.near.mates_with(ports[port].free_end) is Answer.YES
    ]
    for cap in fitting:
        if spare.get(cap):
            yield _Found(f"cap {cap}", f"Take another {department.accessories[cap].name}", {"capped": {port: cap}})
    yield _Found("open", f"Leave {port} open", {"capped": {port: ""}, "open": [port]}, needs_lead=True)
    others = [one.port for one in load.capped_ports if one.cap in fitting and one.port != port]
    for other in others[:_TRIED]:
        words = f"Take the cap of {other}, leave {other} open instead"
        change = {"capped": {port: fitting[0], other: ""}, "open": [other]}
        yield _Found(f"instead {other}", words, change, needs_lead=True)


def _priced(workplace: Workplace, load: Load, before: LoadFlow, found: _Found) -> Way:
    after_load = changed(load, found.change)
    if after_load == load:
        return Way(found.key, found.words, (), 0, found.needs_lead, found.change)
    after = nominal_flow_of_load(workplace.department, after_load)
    day = workplace.plan.day
    was, now = (fed(workplace.department, one, flow, day) for one, flow in ((load, before), (after_load, after)))
    shorts = sorted(key for key in now if now[key].answer is Answer.NO and was[key].answer is not Answer.NO)
    lines = [f"{piece} of {name} gets too little" for name, piece in shorts]
    ports = {(p.set, p.piece, c.lumen): c.port for p in after_load.pieces for c in p.lumens}
    change = {
        key: one.flow_m3_s.nominal / before.lumens[key].flow_m3_s.nominal - 1.0
        for key, one in after.lumens.items()
        if key in before.lumens and before.lumens[key].flow_m3_s.nominal > 0.0
    }
    worst = min(change, key=lambda key: change[key], default=None)
    if worst is not None and change[worst] < -_NOTICED:
        less = sum(one < -_NOTICED for one in change.values())
        who = "1 lumen gets less" if less == 1 else f"{less} lumens get less"
        lines.append(f"{who}, most {ports[worst]}: {-100 * change[worst]:.0f} % less")
    return Way(found.key, found.words, tuple(lines), len(shorts), found.needs_lead, found.change)


def choose_way(workplace: Workplace, ways: Ways, chosen: str, why: str, around: Circumstances) -> Loading | Refused:
    """Go on in one of the offered ways; the plan stays, the deviation is written beside it.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    ways
        What was offered.
    chosen
        Key of the way.
    why
        The reason, in a person's words.
    around
        Who, when, where, under which key; with a lead as second person where one is needed.

    Returns
    -------
    Loading or Refused
        The load; steps that it touches have to be confirmed again.
    """
    if workplace.did(around):
        return show_loading(workplace, ways.load_id)
    way = next((one for one in ways.ways if one.key == chosen), None)
    load = workplace.load(ways.load_id)
    if way is None or isinstance(load, Refused):
        return Refused.because(f"way {chosen!r}", "was not offered", ", ".join(one.key for one in ways.ways) or "none")
    against = _not_so(workplace, way, why, around)
    if against:
        return against
    before = progress_of(workplace, load).load
    after = changed(before, way.change)
    steps = {one.key: one for one in steps_of_load(workplace, before)}
    again = [one.key for one in steps_of_load(workplace, after) if steps.get(one.key) != one]
    deviation = note(
        Kind.LOAD, load.id, FORM, act="otherwise", wrong=f"{ways.wrong} at {ways.port}", chosen=way.words, why=why,
        change=way.change, again=again, costs=list(way.costs),
    )  # fmt: skip
    taken = {key: n for key, n in accessories_of(after).items() if key in workplace.department.accessories}
    commands: list[Command] = [deviation, TakeAccessories(load=load.id, taken=taken)]
    for key in ways.spent:
        stock = workplace.ledger.find(Stock, key)
        usable = (stock.usable if stock else 0) - 1
        commands.append(CountAccessory(accessory=key, usable=usable, why=f"{ways.wrong} at {ways.port}"))
    return workplace.write(around, commands) or show_loading(workplace, load.id)


def _not_so(workplace: Workplace, way: Way, why: str, around: Circumstances) -> Refused | None:
    if not why.strip():
        return Refused.because("deviation", "has no reason", "why it is done otherwise")
    against = not_permitted(workplace, around.model_copy(update={"second": None}), SOILED)
    if against or not way.needs_lead:
        return against
    people = [one for one in (around.who, around.second) if one is not None]
    leads = [not_permitted(workplace, around.model_copy(update={"who": one, "second": None}), _LEAD) for one in people]
    return None if None in leads else leads[-1]
