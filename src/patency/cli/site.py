"""``patency site``: a department's folder."""

from __future__ import annotations

from pathlib import Path

import click

from patency.cli.answers import Answer, Outcome, PatencyGroup

_ONE = {"accessories": "accessory"}


@click.group(cls=PatencyGroup, short_help="Check the description of a department.")
def site() -> None:
    """Look at the description of a department."""


@site.command("check", short_help="List what a department does not state.")
@click.argument("folder", metavar="SITE", type=click.Path(path_type=Path))
def site_check(folder: Path) -> Answer:
    """Read the folder SITE and list what it does not state, with the questions that leaves unanswered.

    Ends with 0 when nothing is missing, with 1 when something is, with 2 when the description has faults. Where no
    jets are described, shapes that are not stated are counted and no more: what the jets strike stays unknown then.
    """
    from patency.steps import check_site
    from patency.texts import people_count

    found = check_site(folder)
    counts = (people_count(count, _ONE.get(what, what.removesuffix("s")), what) for what, count in found.counts.items())
    lines = [f"{found.site}: {', '.join(counts)}"]
    lines += [
        f"{people_count(one.count, 'time')} no {one.what} is stated: {one.limit} is used" for one in found.defaults
    ]
    lines += [f"{one.place}: {one.path}: {one.what} (open: {', '.join(one.questions)})" for one in found.unknowns]
    lines += [one.line for one in found.commissioned]
    if found.shapes_unstated:
        missing = people_count(found.shapes_unstated, "datum of shapes and jets is", "data of shapes and jets are")
        lines.append(f"{missing} not stated and no jets are described: reached stays unknown of every piece")
    lines += [f"{len(found.unknowns)} unknown; unknown counts as no" if found.unknowns else "nothing is unknown"]
    outcome = Outcome.FALLS_SHORT if found.unknowns else Outcome.ACCEPTABLE
    return Answer("\n".join(lines), found.data, outcome)
