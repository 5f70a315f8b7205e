"""``patency calendar``, and what other commands ask of it."""

from __future__ import annotations

from datetime import datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patency.cli.answers import Answer, Outcome, PatencyGroup

if TYPE_CHECKING:
    from patency.evidence import LoadLookedAt

_PATH = click.Path(path_type=Path)


class Moment(click.ParamType[datetime]):
    """A moment with its offset."""

    name = "moment"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        """Read it.

        Parameters
        ----------
        value
            As given.
        param
            The option.
        ctx
            The call.

        Returns
        -------
        datetime
            With its zone.
        """
        from patency.errors import InputError
        from patency.evidence import read_moment

        if isinstance(value, datetime):
            return value
        try:
            return read_moment(str(value), "")
        except InputError as fault:
            self.fail(f"{fault.what} (expected: {fault.expected})", param, ctx)


at_option = click.option("--at", type=Moment(), help="The moment of the look, with its offset; now if left out.")
calendar_option = click.option("--calendar", type=_PATH, help="The tests of the site and what was done.")


def moment_of(on: datetime | None) -> datetime:
    """Return the moment for which tests have to be in date: now, or the end of a day.

    Parameters
    ----------
    on
        The day of the decision; None for now.

    Returns
    -------
    datetime
        In the zone of this machine.
    """
    return now() if on is None else datetime.combine(on.date(), time.max).astimezone()


def now() -> datetime:
    """Return the moment of the call, in the zone of this machine.

    Returns
    -------
    datetime
        With its zone.
    """
    return datetime.now().astimezone()


@click.group("calendar", cls=PatencyGroup, short_help="Tell which tests are due, what is blocked.")
def calendar() -> None:
    """Look at the tests of machines, water, sealing, testers and sensors, and at what rests on them."""


@calendar.command("status", short_help="Tell where every test stands.")
@click.argument("file", metavar="CALENDAR", type=_PATH)
@at_option
def calendar_status(file: Path, at: datetime | None) -> Answer:
    """Tell where every test of CALENDAR stands, until when it counts, and what is blocked.

    Ends with 1 when something is blocked.
    """
    from patency.evidence import blocked, calendar_document
    from patency.steps import calendar_standing

    moment = at or now()
    found = calendar_standing(file, moment)
    block = blocked(found)
    lines = [
        f"{one.state.value:<12}{one.test} ({one.required.of.value} {one.required.name}): {one.why}" for one in found
    ]
    for kind, names in (("machine", block.machines), ("programme", block.programmes), ("use", block.uses)):
        lines += [f"blocked     {kind} {name}: {reason}" for name, reasons in names.items() for reason in reasons]
    outcome = Outcome.ACCEPTABLE if all(one.holds for one in found) else Outcome.FALLS_SHORT
    return Answer("\n".join(lines), calendar_document(found, moment), outcome)


@calendar.command("statement", short_help="Look at a load file again.")
@click.argument("file", metavar="LOADFILE", type=_PATH)
@click.option("--calendar", "known", required=True, type=_PATH, help="The calendar as it is now.")
@at_option
def calendar_statement(file: Path, known: Path, at: datetime | None) -> Answer:
    """Look again at the statement in LOADFILE, the JSON of a load file: is what it relied on still in date.

    Ends with 1 when something is no longer in date. The verdict of then is not changed by it.
    """
    from patency.evidence import NO_LONGER
    from patency.steps import aged_statement

    moment = at or now()
    found = aged_statement(file, known, moment)
    lines = [f"{state:<20}{test}: {why}" for test, state, why in found]
    old = any(state == NO_LONGER for _, state, _ in found)
    data = {
        "format": "patency-aged/1",
        "at": moment.isoformat(),
        "statement": NO_LONGER if old else "in date",
        "relies_on": [{"test": test, "state": state, "why": why} for test, state, why in found],
    }
    lines.append(f"the statement is {data['statement']}")
    return Answer("\n".join(lines), data, Outcome.FALLS_SHORT if old else Outcome.ACCEPTABLE)


@calendar.command("drifted", short_help="Judge loads again after a sensor drifted.")
@click.argument("file", metavar="DRIFTED", type=_PATH)
@click.option("--site", "folder", required=True, type=_PATH, help="The department's folder.")
@click.option("--plan", type=_PATH, help="The plan of the washed loads.")
@click.option("--ledger", help="The ledger, which tells what was used since: a file, or postgresql://...")
def calendar_drifted(file: Path, folder: Path, plan: Path | None, ledger: str | None) -> Answer:
    """Judge the loads in DRIFTED again with what a sensor was found to show too much taken off its readings.

    Says which would still meet what they met, what the others lose, and what was used since; with --ledger also which
    released loads of the machine DRIFTED leaves out. Ends with 1 when one does not stand; a load that cannot be judged
    again does not.
    """
    from patency.evidence import drifted_document
    from patency.steps import look_at_loads

    looked = look_at_loads(file, folder, plan, ledger)
    lines = []
    for one in looked:
        state = "stands" if one.stands else "not judged" if one.why_not else "falls"
        lines.append(f"{state:<12}{one.name}: {one.why_not or f'{len(one.lost)} criteria lost'}; {_since(one)}")
        lines += [f"            {lost}" for lost in one.lost]
    outcome = Outcome.ACCEPTABLE if all(one.stands for one in looked) else Outcome.FALLS_SHORT
    return Answer("\n".join(lines), drifted_document(looked), outcome)


def _since(looked: LoadLookedAt) -> str:
    """Say what was used since and what was not; what nobody says is not known, and not nothing."""
    if looked.used is None:
        return "what was used since is not known"
    from patency.texts import people_moment

    used = ", ".join(f"{use.what} at {people_moment(use.at)}" for use in looked.used) or "nothing"
    kept = ", ".join(f"{what} ({state})" for what, state in looked.not_used)
    return f"used since: {used}" + (f"; not used: {kept}" if kept else "")
