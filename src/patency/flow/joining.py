"""How stretches join to a path: what the steps between them cost, and where the flow starts out flat."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from patency.flow.losses import sudden_contraction, sudden_expansion
from patency.flow.network import Orifice
from patency.flow.stretches import area_m2

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.flow.site_defaults import SiteDefaults
    from patency.flow.stretches import Stretch


def entry_loss(area_before_m2: float, stretch: Stretch) -> float:
    """What it costs to enter a stretch from a wider passage; nothing where it is not wider.

    Parameters
    ----------
    area_before_m2
        Cross-section in front [m²].
    stretch
        The stretch entered.

    Returns
    -------
    float
        K over the velocity head of the stretch [-]; 0 for an orifice, whose coefficient holds it already.
    """
    inside_m2 = area_m2(stretch.segment)
    if isinstance(stretch.segment, Orifice) or inside_m2 >= area_before_m2:
        return 0.0
    return sudden_contraction(area_before_m2, inside_m2)


def join(
    stretches: Sequence[Stretch], first_loss: float, area_after_m2: float | None, defaults: SiteDefaults
) -> tuple[Stretch, ...]:
    """Put stretches in a row and add what the steps between them cost.

    A narrowing is charged to the narrow stretch behind it, a widening to the narrow stretch before it, each over the
    velocity head where K is defined.

    Parameters
    ----------
    stretches
        In the direction of flow, without steps.
    first_loss
        Loss at the entry of the first, over its velocity head [-].
    area_after_m2
        Cross-section of the chamber the last one opens into [m²]; None where it leaves into the open or the passage
        goes on as wide.
    defaults
        What holds where nothing is stated.

    Returns
    -------
    tuple[Stretch, ...]
        The same stretches with the losses of all steps.
    """
    losses = [0.0] * len(stretches)
    flat = [False] * len(stretches)
    losses[0], flat[0] = first_loss, first_loss > 0.0
    for place, (before, behind) in enumerate(pairwise(stretches)):
        if isinstance(behind.segment, Orifice):
            continue
        from_m2, to_m2 = area_m2(before.segment), area_m2(behind.segment)
        flat[place + 1] = from_m2 != to_m2
        if to_m2 < from_m2:
            losses[place + 1] = sudden_contraction(from_m2, to_m2)
        elif to_m2 > from_m2:
            losses[place] += sudden_expansion(from_m2, to_m2)
    last_m2 = area_m2(stretches[-1].segment)
    if area_after_m2 is not None and area_after_m2 > last_m2:
        losses[-1] += sudden_expansion(last_m2, area_after_m2)
    return tuple(
        _with_loss(stretch, loss, starts_flat, defaults)
        for stretch, loss, starts_flat in zip(stretches, losses, flat, strict=True)
    )


def _with_loss(stretch: Stretch, loss: float, starts_flat: bool, defaults: SiteDefaults) -> Stretch:  # noqa: FBT001
    if isinstance(stretch.segment, Orifice):
        return stretch
    segment = replace(stretch.segment, minor_loss=stretch.segment.minor_loss + loss)
    return replace(
        stretch,
        segment=segment,
        loss_doubt=stretch.loss_doubt + defaults.loss_doubt(loss),
        starts_flat=starts_flat,
    )
