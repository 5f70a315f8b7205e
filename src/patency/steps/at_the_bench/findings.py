"""What somebody found at the bench that others have to know: sharps, an injury, something broken, something too much.

What to do next defers to the department's local rules and to theatre; nothing here is medical advice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from patency.ledger import InstrumentSet, Kind, LoadRecord, Piece, Refused
from patency.steps.at_the_bench.permission import CLEAN, SOILED, not_permitted
from patency.steps.at_the_bench.workplace import hold, note, notes_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.ledger import Circumstances, Command
    from patency.steps.at_the_bench.workplace import Workplace

_FORM = "finding"


class Found(StrEnum):
    """What was found."""

    SHARP = "a sharp where none should be"
    INJURY = "somebody was hurt or splashed"
    BROKEN = "broken, or a part broke off"
    EXTRA = "something that does not belong here"


WHAT_NEXT: Mapping[Found, tuple[str, ...]] = {
    Found.SHARP: (
        "Warn whoever works here. Never reach in: take it out with a tool, into the sharps container.",
        "Tell theatre where it lay, as local rules say.",
    ),
    Found.INJURY: (
        "Stop. First aid at once and report it now, as local rules say.",
        "Somebody else takes over here; what was in hand stays where it is until then.",
    ),
    Found.BROKEN: (
        "The set is held: nothing of it goes on until two people lift the hold.",
        "Call theatre now: whether a fragment stayed in the patient is theatre's decision.",
    ),
    Found.EXTRA: (
        "Put it aside with the label of this set and the time; put it into no other box.",
        "If another set misses such a part, say so at its count.",
    ),
}
"""The next step after each finding (common practice, no source; local rules come first)."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture that belongs to a finding: the digest of its bytes, which names it, its kind and size."""

    sha256: str
    kind: str
    size: int


@dataclass(frozen=True, slots=True)
class Finding:
    """A finding as it was reported.

    Parameters
    ----------
    seq
        Its event.
    found
        What was found.
    person, at
        Who reported it, and when.
    photos
        Pictures of it.
    what_next
        What to do now, one line each.
    """

    seq: int
    found: Found
    person: str
    at: datetime
    photos: tuple[Photo, ...]
    what_next: tuple[str, ...]


def report_finding(
    workplace: Workplace, about: Kind, key: str, found: Found, photo: Photo | None, around: Circumstances
) -> Refused | None:
    """Write down what was found; a set with something broken in it is held.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    about
        Whether it was found at a set, a load or a piece.
    key
        Which one.
    found
        What was found.
    photo
        A picture of it; None for none.
    around
        Who reports, when, where, under which key.

    Returns
    -------
    Refused or None
        Why nothing was written; None where it was.
    """
    if workplace.did(around):
        return None
    if not _is_known(workplace, about, key):
        return Refused.because(f"{about} {key}", "is not known", "a set, load or piece that is there")
    commands: list[Command] = [
        note(about, key, _FORM, "not met", act="found", found=found.value, photos=_as_data(photo))
    ]
    if found is Found.BROKEN and about is not Kind.LOAD:
        commands.append(hold(around, about, key, f"found at the bench: {found}"))
    return not_permitted(workplace, around, SOILED | CLEAN) or workplace.write(around, commands)


def _is_known(workplace: Workplace, about: Kind, key: str) -> bool:
    if about is Kind.SET:
        return workplace.ledger.find(InstrumentSet, key) is not None
    if about is Kind.LOAD:
        return workplace.ledger.find(LoadRecord, key) is not None
    return about is Kind.PIECE and workplace.ledger.find(Piece, key) is not None


def add_photo(
    workplace: Workplace, about: Kind, key: str, finding: int, photo: Photo, around: Circumstances
) -> Refused | None:
    """Add a picture to a finding.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    about
        Whether it is a set, a load or a piece.
    key
        Which one.
    finding
        The event of the finding.
    photo
        The picture.
    around
        Who, when, where, under which key.

    Returns
    -------
    Refused or None
        Why it was not added; None where it was.
    """
    if workplace.did(around):
        return None
    if finding not in {one.seq for one in findings_of(workplace, about, key)}:
        return Refused.because(f"finding {finding}", f"is none of {about} {key}", "a finding that was reported")
    added = note(about, key, _FORM, act="photo", finding=finding, photos=_as_data(photo))
    return not_permitted(workplace, around, SOILED | CLEAN) or workplace.write(around, [added])


def _as_data(photo: Photo | None) -> list[dict[str, object]]:
    return [{"sha256": photo.sha256, "kind": photo.kind, "size": photo.size}] if photo else []


def findings_of(workplace: Workplace, about: Kind, key: str) -> tuple[Finding, ...]:
    """List what was found at a thing.

    Parameters
    ----------
    workplace
        Ledger, department, plan.
    about
        Whether it is a set, a load or a piece.
    key
        Which one.

    Returns
    -------
    tuple[Finding, ...]
        The latest first.
    """
    told = notes_of(workplace, about, key, _FORM)
    photos: dict[int, list[Photo]] = {}
    for one in told:
        photos.setdefault(one.get("finding", one["seq"]), []).extend(Photo(**photo) for photo in one["photos"])
    return tuple(
        Finding(
            seq=one["seq"],
            found=Found(one["found"]),
            person=one["person"],
            at=datetime.fromisoformat(one["at"]),
            photos=tuple(photos[one["seq"]]),
            what_next=WHAT_NEXT[Found(one["found"])],
        )
        for one in reversed(told)
        if one["act"] == "found"
    )
