"""What makes two loads the same to the water: the same kinds of lumens on the same ports of the same carrier."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patency.load.arrangement import Load


def load_kind(load: Load) -> str:
    """Compute the id of all loads that are the same to the water.

    Carrier, kind of machine, programme, each connected lumen with its port and chain, the capped and the open ports
    count. Which sets the pieces come from and which of several like pieces hangs where does not, nor does the day.

    Parameters
    ----------
    load
        The load.

    Returns
    -------
    str
        SHA-256 over its canonical JSON, 64 hexadecimal digits.
    """
    connected = sorted(
        [one.port, *_kind_of(piece.piece), one.lumen, *one.chain, f"{one.nozzle_depth_m}"]
        for piece in load.pieces
        for one in piece.lumens
    )
    data = {
        "carrier": load.carrier,
        "machine_kind": load.machine_kind,
        "programme": load.programme,
        "connected": connected,
        "capped": sorted([one.port, one.cap] for one in load.capped_ports),
        "open": sorted(load.open_ports),
    }
    text = json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _kind_of(piece: str) -> tuple[str, str]:
    """Name instrument and piece without the number of the instrument in its set and of the copy."""
    instrument, _, name = piece.split("/")[:3]
    return instrument, name
