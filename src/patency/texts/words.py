"""Plain words and units for what a person reads at the bench."""

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
    "Is the hose or sleeve still on? If one is off, the piece goes back to the soiled side: tell the releaser."
)
LOOK_FIRST_WHY = "The weakest flow predicted in this load: look at these most closely."
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
_LOADING_CHECKS: tuple[tuple[str, set[str]], ...] = (
    ("Every hose pushed home and every sleeve over its tube? Pull gently.", {"CONNECTIONS"}),
    ("No hose kinked, crossed or stretched?", set()),
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
    "LUMENS": ("Hold each piece{of_set} against the light: is every lumen open?", ""),
    "NOZZLES": ("Before the pieces go on{on_level}: are the right nozzles on, and is every opening free?", ""),
    "OVER_NOZZLES": (
        "Does every piece{on_level} stand over its nozzle?",
        "Does every piece{on_level} still stand over its nozzle?",
    ),
    "PORTS": (
        "Along the ports{on_level}: is there a hose, a piece or a cap on every one?",
        "Along the ports{on_level}: is there a hose, a piece or a cap on every one?",
    ),
    "CONNECTIONS": (
        "Along the hoses and sleeves{of_set}{on_level}: are they pushed home at both ends? Pull gently.",
        "Along the hoses and sleeves{of_set}{on_level}: are they still on at both ends?",
    ),
    "STRAINERS": ("Are the strainers{on_level} free of debris?", "Are the strainers{on_level} free of debris?"),
    "CAPS": ("All caps: is none left over of those you fetched?", "All caps: as many taken off as were put on?"),
    "ARMS": ("Turn every spray arm by hand: is it there, does it pass freely?", "Are all arms in their place?"),
    "SIEVE": ("Is the sieve in the sump free of debris?", "Is the sieve in the sump free of debris?"),
}


def look_words(look: str, when: str, letter: str = "", level: str = "") -> str:
    """Say what a person looks at in one glance.

    Parameters
    ----------
    look
        Name of what is looked at.
    when
        ``LOADING`` or ``UNLOADING``.
    letter
        Letter of the set it is about; empty for none.
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
    >>> look_words("CONNECTIONS", "UNLOADING", "A", "upper level")
    'Along the hoses and sleeves of set A on upper level: are they still on at both ends?'
    """
    words = _LOOK_WORDS[look][("LOADING", "UNLOADING").index(when)]
    return words.format(of_set=f" of set {letter}" if letter else "", on_level=f" on {level}" if level else "")


def unseen_words(kind: str, places: Sequence[str]) -> str:
    """Say that neither sensor nor glance shows a fault.

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
    'insert rod lying on the wall: H1, H2'
    """
    return f"{kind}: {', '.join(places)}"


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
    ('lost, it starves 2 others', 'lost, it takes 4 % from another')
    """
    if others_short:
        return f"lost, it starves {others_short} other{'s' if others_short > 1 else ''}"
    return f"lost, it takes {largest_loss * 100:.0f} % from another"


def people_length(length_m: float) -> str:
    """Write a length as people at the bench read it.

    Parameters
    ----------
    length_m
        Length [m].

    Returns
    -------
    str
        In mm, with a decimal below 10 mm.

    Examples
    --------
    >>> people_length(0.0042), people_length(0.33)
    ('4.2 mm', '330 mm')
    """
    length_mm = length_m * 1e3
    return f"{length_mm:.1f} mm" if length_mm < 10 else f"{length_mm:.0f} mm"


def people_flow(flow_m3_s: float) -> str:
    """Write a flow as people read it.

    Parameters
    ----------
    flow_m3_s
        Flow [m³/s].

    Returns
    -------
    str
        In mL/min, from 10 L/min up in L/min.

    Examples
    --------
    >>> people_flow(8.0e-6), people_flow(5e-4)
    ('480 mL/min', '30 L/min')
    """
    ml_min = flow_m3_s * 6e7
    if ml_min >= 10_000:
        return f"{ml_min / 1000:.0f} L/min"
    return f"{_three_digits(ml_min)} mL/min"


def people_pressure(pressure_pa: float) -> str:
    """Write a pressure as people read it.

    Parameters
    ----------
    pressure_pa
        Gauge pressure [Pa].

    Returns
    -------
    str
        In mbar.

    Examples
    --------
    >>> people_pressure(20_800.0)
    '208 mbar'
    """
    return f"{_three_digits(pressure_pa / 100)} mbar"


def people_shear(shear_pa: float) -> str:
    """Write a wall shear stress as people read it.

    Parameters
    ----------
    shear_pa
        Wall shear stress [Pa].

    Returns
    -------
    str
        In Pa.

    Examples
    --------
    >>> people_shear(7.123)
    '7.12 Pa'
    """
    return f"{_three_digits(shear_pa)} Pa"


def people_quantity(value: float, unit: str) -> str:
    """Write a number of a criterion as people read it.

    Parameters
    ----------
    value
        The number.
    unit
        The unit it is kept in: ``s``, ``degC``, ``K``, ``Pa``, ``uS/cm``, ``rpm``, ``m3``, ``m3/s``, ``m``, ``1``.

    Returns
    -------
    str
        Pressures in mbar, volumes in mL, flows in mL/min, lengths in mm; times stay in seconds, so that A0 does.

    Examples
    --------
    >>> people_quantity(20_800.0, "Pa"), people_quantity(5.02e-5, "m3"), people_quantity(2140.2, "s")
    ('208 mbar', '50.2 mL', '2140 s')
    """
    if unit == "Pa":
        return people_pressure(value)
    if unit == "m3/s":
        return people_flow(value)
    if unit == "m":
        return people_length(value)
    if unit == "m3":
        return f"{_three_digits(value * 1e6)} mL"
    word = {"degC": " °C", "uS/cm": " µS/cm", "1": ""}.get(unit, f" {unit}" if unit else "")
    digits = f"{value:.1f}" if unit in {"degC", "K"} else _three_digits(value)
    return f"{digits}{word}"


def people_time(duration_s: float) -> str:
    """Write a duration as people read it.

    Parameters
    ----------
    duration_s
        Duration [s].

    Returns
    -------
    str
        In seconds up to two minutes, then in minutes.

    Examples
    --------
    >>> people_time(15), people_time(3960)
    ('15 s', '66 min')
    """
    return f"{duration_s:.0f} s" if duration_s <= 120 else f"{duration_s / 60:.0f} min"


def _three_digits(number: float) -> str:
    """Round to about three digits: more would promise what the calculation cannot keep. Whole numbers stay whole."""
    if abs(number) >= 100 or abs(number - round(number)) < 1e-9:
        return f"{number:.0f}"
    return f"{number:.1f}" if abs(number) >= 10 else f"{number:.2f}"
