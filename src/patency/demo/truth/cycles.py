"""The truth of each cycle of the demo day: what was wrong, what the record must show of it, what it cannot show."""

from __future__ import annotations

from dataclasses import dataclass

from patency.demo.simulator import Mishap, PowerDip

# The stage's name in the programmes of Larkmere.
_DISINFECTION = "thermal disinfection"


@dataclass(frozen=True, slots=True)
class CycleTruth:
    """What truly happened in one cycle.

    Parameters
    ----------
    happened
        What happened, in words.
    must_miss
        Names of criteria of the evidence that must come out as not met; no others may.
    cannot_show
        What no sensor of the machine can show; empty where nothing is hidden.
    power_dip
        The dip of the mains; None where there was none.
    a0_left_s
        A0 the load truly reached because of it [s]; None where the cycle was not shortened.
    """

    happened: str
    must_miss: frozenset[str]
    cannot_show: str = ""
    power_dip: PowerDip | None = None
    a0_left_s: float | None = None


TRUTHS: dict[Mishap, CycleTruth] = {
    Mishap.NOTHING: CycleTruth(
        happened="The cycle ran as planned; every hose, sleeve and cap was in its place from start to end.",
        must_miss=frozenset(),
    ),
    Mishap.TAPER_CAP_FORGOTTEN: CycleTruth(
        happened=(
            "The load needs no taper port and its blanking cap was forgotten: water leaves there unhindered, and the "
            "pressure falls for every lumen of the carrier, by less than a fifth."
        ),
        must_miss=frozenset({"circulation pressure"}),
    ),
    Mishap.HOSE_OFF: CycleTruth(
        happened=(
            "The hose of one 3 mm instrument was not fully seated and came off during the first minutes; its lumen "
            "carried no water in any stage after that."
        ),
        must_miss=frozenset(),
        cannot_show="One hose among many changes the pressure by less than sensor and prediction are uncertain by.",
    ),
    Mishap.POWER_DIP: CycleTruth(
        happened=(
            "The mains failed for 15 s during the hold. The drain valve opened and a quarter of the hot water ran off; "
            "filled up again from the warm supply, the water fell from 91 °C to about 85 °C. The heater's cut-out had "
            "opened and stayed open, the hold timer ran on: 2140 of 3000 were reached."
        ),
        must_miss=frozenset({"A0", "disinfection hold time", "lowest temperature of the hold"}),
        power_dip=PowerDip(_DISINFECTION, after_s=0.0, lasts_s=15.0, water_lost=0.25),
        a0_left_s=2140.0,
    ),
}
