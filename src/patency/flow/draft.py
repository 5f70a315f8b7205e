"""A load's network while it is being drawn: links and outlets with the doubts of their segments."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from patency.flow.fitted import fitted_stretch
from patency.flow.joining import join
from patency.flow.losses import EXIT
from patency.flow.network import Link, Orifice, Outlet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patency.catalogue import CommissionedFit
    from patency.flow.site_defaults import SiteDefaults
    from patency.flow.stretches import Stretch


@dataclass
class Draft:
    """Collects links and outlets; filled step by step, read once.

    Parameters
    ----------
    defaults
        What holds where the catalogue states nothing.
    fit
        What commissioning found; None where nothing was commissioned, or where the description alone shall count.
    links, outlets
        Drawn so far.
    stretches
        Stretches of each link and outlet, by its name.
    """

    defaults: SiteDefaults
    fit: CommissionedFit | None = None
    links: list[Link] = field(default_factory=list)
    outlets: list[Outlet] = field(default_factory=list)
    stretches: dict[str, tuple[Stretch, ...]] = field(default_factory=dict)

    def link(
        self,
        name: str,
        nodes: tuple[str, str],
        stretches: Sequence[Stretch],
        first_loss: float,
        area_after_m2: float | None = None,
    ) -> None:
        """Draw a link.

        Parameters
        ----------
        name
            Its name.
        nodes
            Where it starts and ends.
        stretches
            What it consists of, without steps.
        first_loss
            Loss at its entry, over the velocity head of its first stretch [-].
        area_after_m2
            Cross-section of the chamber it opens into [m²]; None where the passage goes on.
        """
        joined = self._joined(stretches, first_loss, area_after_m2)
        self.stretches[name] = joined
        self.links.append(
            Link(id=name, from_node=nodes[0], to_node=nodes[1], segments=tuple(s.segment for s in joined))
        )

    def outlet(
        self,
        name: str,
        node: str,
        stretches: Sequence[Stretch],
        first_loss: float,
        elevation_m: float,
    ) -> None:
        """Draw an open outlet.

        Parameters
        ----------
        name
            Its name.
        node
            What feeds it.
        stretches
            What it consists of, without steps.
        first_loss
            Loss at its entry, over the velocity head of its first stretch [-].
        elevation_m
            Height of its discharge [m].
        """
        joined = self._joined(stretches, first_loss, None)
        segments = tuple(s.segment for s in joined)
        exit_loss = 0.0 if isinstance(segments[-1], Orifice) else EXIT
        self.stretches[name] = joined
        self.outlets.append(
            Outlet(id=name, node=node, state="open", elevation_m=elevation_m, exit_loss=exit_loss, segments=segments)
        )

    def _joined(
        self, stretches: Sequence[Stretch], first_loss: float, area_after_m2: float | None
    ) -> tuple[Stretch, ...]:
        joined = join(stretches, first_loss, area_after_m2, self.defaults)
        return tuple(fitted_stretch(stretch, self.fit) for stretch in joined)

    def close(self, names: set[str]) -> None:
        """Cap outlets: they carry exactly nothing.

        Parameters
        ----------
        names
            Which; names of other things are passed over.
        """
        self.outlets = [replace(o, state="closed") if o.id in names else o for o in self.outlets]
