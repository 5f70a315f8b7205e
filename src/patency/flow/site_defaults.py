"""The site's word on sizes that carry no tolerance of their own, and which of these words a calculation stands on."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patency.catalogue import FlowLimits
    from patency.quantities import Limit, Toleranced


class SiteDefaults:
    """What the site says of sizes that carry no tolerance of their own; remembers what it was asked.

    Parameters
    ----------
    limits
        The site's limits of the flow calculation.
    """

    def __init__(self, limits: FlowLimits) -> None:
        self._limits = limits
        self.asked: dict[str, Limit | None] = {}

    def _ask(self, name: str) -> float | None:
        limit: Limit | None = getattr(self._limits, name)
        self.asked[name] = limit
        return None if limit is None else limit.value

    def bore_doubt_m(self, bore: Toleranced) -> float:
        """Half width of the tolerance of a bore; 0 where nobody states one, which is remembered.

        Parameters
        ----------
        bore
            The bore [m].

        Returns
        -------
        float
            Half width [m].
        """
        return bore.nominal * (self._ask("bore_tolerance") or 0.0) if bore.plus_minus is None else bore.plus_minus

    def rod_doubt_m(self, rod: Toleranced) -> float:
        """Half width of the tolerance of a rod's diameter; 0 where nobody states one, which is remembered.

        Parameters
        ----------
        rod
            The rod's diameter [m].

        Returns
        -------
        float
            Half width [m].
        """
        return rod.nominal * (self._ask("rod_tolerance") or 0.0) if rod.plus_minus is None else rod.plus_minus

    def roughness_m(self, stated: Toleranced | None) -> float:
        """Roughness of a wall: stated, else the site's; smooth where nobody states one, which is remembered.

        Parameters
        ----------
        stated
            What the catalogue says of this wall [m].

        Returns
        -------
        float
            Equivalent sand-grain roughness [m].
        """
        return (self._ask("roughness") or 0.0) if stated is None else stated.nominal

    def loss(self, stated: Toleranced | None) -> tuple[float, float]:
        """Loss of a part with the half width of its tolerance: stated, else the site's; none where nobody states one.

        Parameters
        ----------
        stated
            What the catalogue says of this part [-].

        Returns
        -------
        tuple[float, float]
            Loss and half width [-]. The site's default is the most it can be: the middle between nothing and that.
        """
        if stated is None:
            half = (self._ask("default_loss") or 0.0) / 2.0
            return half, half
        return stated.nominal, self.loss_doubt(stated.nominal) if stated.plus_minus is None else stated.plus_minus

    def loss_doubt(self, loss: float) -> float:
        """Half width of the tolerance of a local loss; 0 where the site states none, which is remembered.

        Parameters
        ----------
        loss
            The loss [-].

        Returns
        -------
        float
            Half width [-].
        """
        return loss * (self._ask("loss_tolerance") or 0.0)

    def roughness_factor(self) -> float:
        """By which factor a roughness may be larger or smaller; 1 where the site states none, which is remembered.

        Returns
        -------
        float
            The factor [-].
        """
        return self._ask("roughness_factor") or 1.0

    def pump_doubt(self) -> float:
        """Half width of the tolerance of the pump's head as a share; 0 where the site states none.

        Returns
        -------
        float
            Half width over head [-].
        """
        return self._ask("pump_tolerance") or 0.0
