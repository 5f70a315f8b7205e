"""The smallest networks: segments side by side under one head, each an outlet of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.flow import Bore, Link, Network, Outlet, PumpLaw, Segment, Water
from patency.quantities import STANDARD_GRAVITY_M_S2, water_density_kg_m3

if TYPE_CHECKING:
    from collections.abc import Sequence

RESERVOIR = Bore(diameter_m=2.0, length_m=1e-3, roughness_m=0.0, minor_loss=0.0)  # loses nothing to speak of
LUMEN = Bore(diameter_m=1e-3, length_m=0.33, roughness_m=1.5e-6, minor_loss=0.5)


def under_head(
    head_m: float,
    segments: Sequence[Segment],
    water: Water,
    *,
    exit_loss: float = 0.0,
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2,
) -> Network:
    """Segments side by side, outlets P0, P1 and so on, under a constant head."""
    return Network(
        water=water,
        gravity_m_s2=gravity_m_s2,
        pump=PumpLaw(shutoff_head_m=head_m, coefficient=0.0, exponent=2.0),
        links=(Link(id="L", from_node="SUMP", to_node="N", segments=(RESERVOIR,)),),
        outlets=tuple(
            Outlet(id=f"P{k}", node="N", state="open", elevation_m=0.0, exit_loss=exit_loss, segments=(segment,))
            for k, segment in enumerate(segments)
        ),
    )


def under_pressure(
    pressure_pa: float, segments: Sequence[Segment], temperature_c: float, *, exit_loss: float = 0.0
) -> Network:
    """Segments side by side under a constant pressure."""
    head = pressure_pa / (water_density_kg_m3(temperature_c) * STANDARD_GRAVITY_M_S2)
    return under_head(head, segments, Water(temperature_c=temperature_c), exit_loss=exit_loss)
