"""The look before the door closes, and the start: carrier, machine and programme scanned must be those of the plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patency.ledger import Kind, Refused, StartLoad
from patency.steps.at_the_bench.load_progress import FORM, progress_of
from patency.steps.at_the_bench.loading import Loading, show_loading
from patency.steps.at_the_bench.permission import SOILED, not_permitted
from patency.steps.at_the_bench.workplace import note
from patency.steps.eye_check_words import sheet_watch
from patency.texts import loading_checks

if TYPE_CHECKING:
    from collections.abc import Collection

    from patency.ledger import Circumstances, Command
    from patency.load import Load
    from patency.papers import SheetWatch
    from patency.steps.at_the_bench.workplace import Workplace


@dataclass(frozen=True, slots=True)
class BeforeStart:
    """What is looked at before a load starts.

    Parameters
    ----------
    loading
        The load.
    checks
        Questions to tick, in the order of the walk; those that come from the faults of this very load first.
    open_ports
        Ports that stay open on purpose.
    seen_by_nobody
        What neither sensor nor glance will show of this load.
    carrier, machine, programme
        What has to be scanned.
    """

    loading: Loading
    checks: tuple[str, ...]
    open_ports: tuple[str, ...]
    seen_by_nobody: tuple[str, ...]
    carrier: str
    machine: str
    programme: str


def show_before_start(workplace: Workplace, load_id: str) -> BeforeStart | Refused:
    """Show what is looked at before a load starts.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.

    Returns
    -------
    BeforeStart or Refused
        The eye checks that the faults of this load need, and those of any load.
    """
    loading = show_loading(workplace, load_id)
    if isinstance(loading, Refused):
        return loading
    load = loading.load

    def watched(load: Load) -> SheetWatch:
        return sheet_watch(workplace.department, workplace.plan, load)

    watch = workplace.once(load, watched)
    own = [f"{line.words} {', '.join(line.places)}".strip() for line in (*watch.before, *watch.loading)]
    if watch.pull:
        own.append(f"Pulled gently at every hose and sleeve? {', '.join(watch.pull)}")
    return BeforeStart(
        loading=loading,
        checks=tuple(dict.fromkeys((*own, *loading_checks(watch.looks)))),
        open_ports=load.open_ports,
        seen_by_nobody=watch.seen_by_nobody,
        carrier=load.carrier,
        machine=load.machine,
        programme=load.programme,
    )


def start_load(
    workplace: Workplace,
    load_id: str,
    scanned: tuple[str, str, str],
    checked: Collection[str],
    around: Circumstances,
) -> Loading | Refused:
    """Start a load.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.
    scanned
        Carrier, machine and programme, as they were scanned there.
    checked
        The checks that were ticked.
    around
        Who, when, where, under which key.

    Returns
    -------
    Loading or Refused
        The load, started. Refused while a step or a check is open, or something else was scanned than planned.
    """
    shown = show_before_start(workplace, load_id)
    if isinstance(shown, Refused) or workplace.did(around):
        return shown if isinstance(shown, Refused) else shown.loading
    if not shown.loading.complete:
        left = len(shown.loading.steps) - len(shown.loading.done)
        return Refused.because(f"load {load_id}", f"{left} steps are not confirmed", "every step confirmed")
    unchecked = [check for check in shown.checks if check not in checked]
    if unchecked:
        return Refused.because(f"load {load_id}", f"nobody looked: {unchecked[0]}", "every check ticked")
    carrier, machine, programme = scanned
    commands: list[Command] = [
        note(Kind.LOAD, load_id, FORM, act="checked", checks=list(shown.checks)),
        StartLoad(load=load_id, machine=machine, carrier=carrier, programme=programme),
    ]
    refused = not_permitted(workplace, around, SOILED) or workplace.write(around, commands)
    return refused or show_loading(workplace, load_id)


def checked_before_start(workplace: Workplace, load_id: str) -> tuple[str, ...]:
    """List what was looked at before a load started.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    load_id
        The load.

    Returns
    -------
    tuple[str, ...]
        The ticked questions; none where it has not started.
    """
    load = workplace.load(load_id)
    return () if isinstance(load, Refused) else progress_of(workplace, load).checked
