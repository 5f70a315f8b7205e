"""Plain words for what a person reads at the bench."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

QUESTION_WORDS: dict[str, str] = {
    "fits": "Does a chain of connectors and the place fit?",
    "fed": "Does water run through every lumen?",
    "reached": "Do the jets strike every surface, and does it drain?",
    "held": "Is it open as it should be, and does it stay where it is?",
    "suited": "Does the programme suit it?",
    "together": "Is the whole set in this load?",
}
WAY_UP_WORDS: dict[str, str] = {
    "distal up": "tip up",
    "distal down": "tip down",
    "lying": "lying flat, one layer",
    "coiled": "coiled, no tight bend",
}
UNLOADING_LOOK = (
    "At each port: are hose and sleeve still on at both ends, does the piece still stand over its nozzle? "
    "If not, it goes back to the soiled side: tell the releaser."
)
REACH_WHY = (
    "Calculated, not measured. Struck says that water of the jets arrives directly, nothing of what is left on a "
    "surface: look at what is not struck."
)
"""What stands under pictures of what jets strike."""
LOOK_FIRST_WHY = (
    "The weakest rinsing predicted in this load, weakest first; what may fall short stands before the rest."
)
SHADOWS_WHY = (
    "Struck least by the jets, with how much of the zone they strike directly and what shadows it. Calculated; struck "
    "says nothing of what is left on a surface."
)
"""What stands over the zones that jets strike least."""
# What the two boxes in the row of a piece stand for, and what is looked at once it is on.
ROWS_WHY: tuple[str, ...] = (
    "Light: before it goes on, hold the piece against the light: is every lumen open?",
    "On: tick once it is connected, and what stands under the box is done:",
    "pulled: hose, sleeve and cap are pushed home at both ends; pull gently.",
    "over nozzle: it stands over its nozzle.",
)
ROW_LOOKS: dict[str, str] = {"CONNECTIONS": "pulled", "OVER_NOZZLES": "over nozzle"}
PLACE_NOTES: dict[str, str] = {
    "net": "hold-down net over it",
    "pod": "lid on, label of the set on it",
    "optic holder": "nothing lies on it",
}
_STATE_WORDS: dict[tuple[str, str], str] = {
    ("seals", "removed"): "seals off",
    ("valve", "removed"): "valve out",
    ("cap", "removed"): "cap off",
    ("screws", "loosened"): "screws loose",
    ("blades", "half spread"): "blades half spread",
}


def state_words(part: str, state: str) -> str:
    """Say in the shortest words how a part has to be.

    Parameters
    ----------
    part
        Jaws, tap, seals and so on.
    state
        Open, released, removed and so on.

    Returns
    -------
    str
        Such as ``jaws open`` or ``seals off``.

    Examples
    --------
    >>> state_words("jaws", "open"), state_words("seals", "removed")
    ('jaws open', 'seals off')
    """
    return _STATE_WORDS.get((part, state), f"{part} {state}")


def stands_in_words(area: str) -> str:
    """Say where in the carrier a pod or holder stands.

    Parameters
    ----------
    area
        The basket area.

    Returns
    -------
    str
        Such as ``stands in B4``.
    """
    return f"stands in {area}"


def leans_words(side: str) -> str:
    """Say toward which side of the carrier a piece leans.

    Parameters
    ----------
    side
        Back, front, left or right, seen by the loader in front of it.

    Returns
    -------
    str
        Such as ``leaning to the back``.
    """
    return f"leaning to the {side}"


# What is looked at before the door closes, in the order of the walk, and the glances that ask the same more exactly.
# Whether hoses and sleeves are pushed home is asked in the row of each piece.
_LOADING_CHECKS: tuple[tuple[str, set[str]], ...] = (
    ("No hose kinked, crossed or stretched, no sleeve slipped?", set()),
    ("Every unused port closed as listed?", {"CAPS", "PORTS"}),
    ("Jaws, ratchets and taps open; seals and caps off?", set()),
    ("Hollows look down; nothing lies on anything else?", set()),
    ("Light pieces under a net; pods lidded and labelled; nothing through the mesh?", set()),
    ("Turn every spray arm by hand: does it pass freely?", {"ARMS"}),
    ("Carrier docked? Carrier, machine and programme as on this sheet?", set()),
)


def loading_checks(looked_at: Collection[str] = ()) -> tuple[str, ...]:
    """List what is looked at before the door closes, in the order of the walk.

    Parameters
    ----------
    looked_at
        Glances the load asks for by themselves; what they ask is not asked twice.

    Returns
    -------
    tuple[str, ...]
        Short questions to tick (common practice).
    """
    return tuple(check for check, looks in _LOADING_CHECKS if not looks & set(looked_at))


_LOOK_WORDS: dict[str, tuple[str, str]] = {
    # What is looked at: when loading, and when unloading.
    "NOZZLES": ("Are the right nozzles on{on_level}, and is every opening free?", ""),
    "PORTS": (
        "Along the ports{on_level}: is there a hose, a piece or a cap on every one?",
        "Along the ports{on_level}: is there a hose, a piece or a cap on every one?",
    ),
    "STRAINERS": ("Are the strainers{on_level} free of debris?", "Are the strainers{on_level} free of debris?"),
    "CAPS": ("All caps: is none left over of those you fetched?", "All caps: as many taken off as were put on?"),
    "ARMS": ("Turn every spray arm by hand: is it there, does it pass freely?", "Are all arms in their place?"),
    "SIEVE": ("Is the sieve in the sump free of debris?", "Is the sieve in the sump free of debris?"),
}


def look_words(look: str, when: str, level: str = "") -> str:
    """Say what a person looks at in one glance at more than a single piece.

    Parameters
    ----------
    look
        Name of what is looked at.
    when
        ``LOADING`` or ``UNLOADING``.
    level
        Name of the carrier's level it is about; empty where that goes without saying.

    Returns
    -------
    str
        A question to tick.

    Examples
    --------
    >>> look_words("CAPS", "LOADING")
    'All caps: is none left over of those you fetched?'
    >>> look_words("STRAINERS", "UNLOADING", "upper level")
    'Are the strainers on upper level free of debris?'
    """
    words = _LOOK_WORDS[look][("LOADING", "UNLOADING").index(when)]
    return words.format(on_level=f" on {level}" if level else "")


def look_first_words(port: str, letter: str, piece: str, answer: str) -> str:
    """Say which lumen the clean side looks at.

    Parameters
    ----------
    port
        The port it was connected to.
    letter
        Letter of its set.
    piece
        The piece.
    answer
        Whether it is predicted to be fed: ``yes``, ``no`` or ``unknown``.

    Returns
    -------
    str
        One line.

    Examples
    --------
    >>> look_first_words("H3", "A", "clip applier", "yes")
    'H3, set A: clip applier'
    >>> look_first_words("H3", "A", "clip applier", "unknown")
    'H3, set A: clip applier – may fall short'
    """
    short = {"no": " – falls short", "unknown": " – may fall short"}
    return f"{port}, set {letter}: {piece}{short.get(answer, '')}"


def assumed_alarm_words(false_alarms: float, baseline: tuple[int, str] | None) -> str:
    """Say which alarm a list of glances relies on.

    Parameters
    ----------
    false_alarms
        Share of cycles without fault in which sensors may raise an alarm [-].
    baseline
        How many earlier cycles of the same load it is held against, and in which machine they ran; None for none.

    Returns
    -------
    str
        One or two sentences.

    Examples
    --------
    >>> assumed_alarm_words(0.01, None)
    'The list assumes no alarm on pressures and flows: no baseline of earlier cycles of this load is kept.'
    >>> assumed_alarm_words(0.01, (12, "Alder")).split(",")[0]
    'The list relies on the alarm of the verdict'
    """
    if baseline is None:
        return "The list assumes no alarm on pressures and flows: no baseline of earlier cycles of this load is kept."
    cycles, machine = baseline
    held = f"held against {cycles} earlier cycles of this load in {machine}, {false_alarms * 100:g} % false alarms"
    return f"The list relies on the alarm of the verdict, {held}. Where that was not evaluated, look at every port."


def unseen_words(kind: str, places: Sequence[str]) -> str:
    """Say what to do about a fault that neither sensor nor glance shows.

    Parameters
    ----------
    kind
        The fault in the trade's words.
    places
        Where it can be.

    Returns
    -------
    str
        One line.

    Examples
    --------
    >>> unseen_words("insert rod lying on the wall", ["H1", "H2"])
    'H1, H2: flush and inspect most closely; a rod inside may lie on the wall, and nothing shows it in the machine'
    >>> unseen_words("pump at 90 % of its speed", ["machine"])
    'machine: no alarm in this load shows a pump at 90 % of its speed; have it checked at the next service'
    """
    where = ", ".join(places)
    if kind == "insert rod lying on the wall":
        why = "a rod inside may lie on the wall, and nothing shows it in the machine"
        return f"{where}: flush and inspect most closely; {why}"
    return f"{where}: no alarm in this load shows a {kind}; have it checked at the next service"


def harm_words(others_short: int, largest_loss: float) -> str:
    """Say what losing a connection does to other lumens.

    Parameters
    ----------
    others_short
        How many other lumens fall below their need.
    largest_loss
        Largest share of its flow that another lumen loses [-].

    Returns
    -------
    str
        A few words.

    Examples
    --------
    >>> harm_words(2, 0.3), harm_words(0, 0.036)
    ('if it comes off, 2 other lumens get too little', 'if it comes off, another lumen gets 4 % less')
    """
    if others_short:
        others = "1 other lumen gets" if others_short == 1 else f"{others_short} other lumens get"
        return f"if it comes off, {others} too little"
    return f"if it comes off, another lumen gets {largest_loss * 100:.0f} % less"
