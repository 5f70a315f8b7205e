"""Taking a set apart: the steps of its instructions, the parts that come of it, the pod that belongs to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.catalogue import Pod
from patency.ledger import InstrumentSet, Kind, MoveSet, Refused, SetState
from patency.steps.at_the_bench.permission import SOILED, families_of_set, not_permitted
from patency.steps.at_the_bench.workplace import note, notes_of
from patency.texts import state_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.ledger import Circumstances, Seen
    from patency.steps.at_the_bench.workplace import Workplace

_FORM = "pod"
_TIED = frozenset(
    {
        SetState.RECEIVED,
        SetState.DISMANTLED,
        SetState.MISSING_PART,
        SetState.REWASH,
        SetState.QUARANTINE,
        SetState.LOADED,
        SetState.WASHED,
        SetState.WASH_RELEASED,
        SetState.INSPECTED,
    }
)  # in these states the small parts of a set lie in its pod


@dataclass(frozen=True, slots=True)
class PartOf:
    """A part that an instrument comes apart into.

    Parameters
    ----------
    type_key, name, count
        Its type, what it is called, how many one instrument has.
    sharp, in_pod
        Whether it can hurt; whether it goes into the pod.
    set_up
        How its movable parts have to be.
    """

    type_key: str
    name: str
    count: int
    sharp: bool
    in_pod: bool
    set_up: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TakenApart:
    """How one kind of instrument is taken apart: its steps, and the parts that must lie there then."""

    name: str
    count: int
    steps: tuple[str, ...]
    parts: tuple[PartOf, ...]


@dataclass(frozen=True, slots=True)
class ToDismantle:
    """A set to be taken apart.

    Parameters
    ----------
    set_key, state
        The set and where it stands.
    instruments
        Each kind of instrument.
    needs_pod
        Whether it has small parts.
    pods
        The pods bound to it.
    """

    set_key: str
    state: SetState
    instruments: tuple[TakenApart, ...]
    needs_pod: bool
    pods: tuple[str, ...]


def show_dismantling(workplace: Workplace, set_key: str) -> ToDismantle | Refused:
    """Show how a set is taken apart.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.

    Returns
    -------
    ToDismantle or Refused
        Steps, parts, pods.
    """
    found = workplace.set_of(set_key)
    if isinstance(found, Refused):
        return found
    kind = workplace.department.sets.get(found.set_type)
    instruments = tuple(_taken_apart(workplace, key, count) for key, count in (kind.contents if kind else {}).items())
    return ToDismantle(
        set_key=set_key,
        state=found.state,
        instruments=instruments,
        needs_pod=any(part.in_pod for one in instruments for part in one.parts),
        pods=pods_of_set(workplace, set_key),
    )


def _taken_apart(workplace: Workplace, key: str, count: int) -> TakenApart:
    department = workplace.department
    instrument = department.instruments[key]
    instructions = department.instructions.get(instrument.instructions or "")
    version = instructions.in_force(workplace.plan.day) if instructions else None
    said = version.preparation if version else None
    parts = [
        PartOf(
            type_key=f"{key}/{name}",
            name=part.name,
            count=part.count,
            sharp=part.sharp,
            in_pod=part.placing == "pod",
            set_up=tuple(state_words(what, state) for what, state in (part.states or {}).items()),
        )
        for name, part in instrument.pieces.items()
    ]
    return TakenApart(instrument.name, count, tuple(said.steps) if said else (), tuple(parts))


def pods_of_set(workplace: Workplace, set_key: str) -> tuple[str, ...]:
    """Name the pods that are bound to a set now.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.

    Returns
    -------
    tuple[str, ...]
        In the order in which they were bound; none once the set is assembled.
    """
    found = workplace.ledger.find(InstrumentSet, set_key)
    if found is None or found.state not in _TIED:
        return ()
    since = _bound_since(workplace, set_key)
    return tuple(
        dict.fromkeys(one["pod"] for one in notes_of(workplace, Kind.SET, set_key, _FORM, 400) if one["seq"] > since)
    )


def _bound_since(workplace: Workplace, set_key: str) -> int:
    """Find the event at which the set was last put together: what was bound before is free again."""
    story = workplace.ledger.story("set", set_key, 400)
    return max(
        (e["seq"] for e in story if e["event"] == "set moved" and e["what"]["to"] == SetState.ASSEMBLED), default=0
    )


def bind_pod(workplace: Workplace, set_key: str, pod: str, around: Circumstances) -> ToDismantle | Refused:
    """Bind a pod to a set: the small parts in it are the set's and nobody else's.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    pod
        The pod's own label.
    around
        Who, when, where, under which key.

    Returns
    -------
    ToDismantle or Refused
        The set; refused while another set's small parts lie in the pod.
    """
    found = workplace.set_of(set_key)
    if isinstance(found, Refused):
        return found
    if not workplace.did(around) and pod not in pods_of_set(workplace, set_key):
        against = _pod_not_free(workplace, set_key, pod) or not_permitted(workplace, around, SOILED)
        bound = [note(Kind.SET, set_key, _FORM, pod=pod), note(Kind.ACCESSORY, pod, _FORM, set=set_key)]
        refused = against or workplace.write(around, bound)
        if refused:
            return refused
    return show_dismantling(workplace, set_key)


def _pod_not_free(workplace: Workplace, set_key: str, pod: str) -> Refused | None:
    if not any(isinstance(one, Pod) for one in workplace.department.accessories.values()):
        return Refused.because(f"pod {pod}", "is not known", "a department with pods")
    last = notes_of(workplace, Kind.ACCESSORY, pod, _FORM, 1)
    other = last[-1]["set"] if last else None
    if other is not None and other != set_key and pod in pods_of_set(workplace, other):
        return Refused.because(f"pod {pod}", f"holds small parts of {other}", "an empty pod")
    return None


def dismantle_set(
    workplace: Workplace, set_key: str, seen: Mapping[str, Seen], around: Circumstances
) -> ToDismantle | Refused:
    """Write down that a set was taken apart, with every part seen and the small ones in its pod.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    set_key
        The set.
    seen
        Every part, with how it was seen.
    around
        Who, when, where, under which key.

    Returns
    -------
    ToDismantle or Refused
        The set; refused while a part is missing, nothing is bound for its small parts, or it is held.
    """
    shown = show_dismantling(workplace, set_key)
    found = workplace.set_of(set_key)
    if isinstance(shown, Refused) or isinstance(found, Refused) or workplace.did(around):
        return shown
    against = not_permitted(workplace, around, SOILED, families_of_set(workplace, found))
    if against is None and shown.needs_pod and not shown.pods:
        against = Refused.because(f"set {set_key}", "has small parts and no pod", "scan the pod they lie in")
    move = MoveSet(set_key=set_key, to=SetState.DISMANTLED, seen=dict(seen))
    return against or workplace.write(around, [move]) or show_dismantling(workplace, set_key)
