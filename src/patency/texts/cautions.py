"""The cautions shown on every plan and paper, word for word."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    (
        "Follow the instructions for use and the department's validated process; "
        "where they differ from this paper, stop and ask."
    ),
    "Predictions are calculations, not measurements.",
    (
        "The machine's sensors cannot see every disconnected lumen: "
        "look at every hose and sleeve when loading and when unloading."
    ),
    (
        "Sharps, hot loads, process chemicals (concentrated hydrogen peroxide and alkaline detergents injure skin "
        "and eyes): protective equipment and local rules apply."
    ),
    "Release is the decision of a qualified person.",
    "Not evaluated is not passed.",
)
