"""Accessories: what stands between a port and a lumen, and what closes, covers or holds."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Tag, model_validator

from patency.catalogue.carriers import WireMesh
from patency.catalogue.connectors import Connector, Gender
from patency.catalogue.fields import Bore, Described, Distance, Length, Loss, Name, Size
from patency.catalogue.instruments import SideHoles
from patency.catalogue.tagged import told_apart_by


class _Stocked(Described):
    name: Name
    stock: Annotated[int, Field(ge=0)]
    """How many the department has in working order."""
    rank: Annotated[int, Field(ge=0, le=9)] = 0
    """How willingly it is used: 0 first."""


class Hose(_Stocked):
    """A loose hose that lengthens or changes a connection."""

    kind: Literal["hose"]
    near: Connector
    """End towards the port."""
    far: Connector
    """End towards the piece."""
    bore_m: Bore
    length_m: Length
    outer_m: Size

    @model_validator(mode="after")
    def _has_a_wall(self) -> Hose:
        if self.outer_m <= self.bore_m.nominal:
            raise ValueError("the hose is not wider outside than inside|outer larger than bore")
        return self


class InjectorNozzle(_Stocked):
    """A nozzle that stands in the open end of a lumen and drives a jet up it."""

    kind: Literal["injector nozzle"]
    near: Connector
    bore_m: Bore
    """Inner diameter of its tube."""
    outlet_m: Bore
    """Diameter of its outlet at the tip."""
    outer_m: Size
    """Outer diameter: it has to fit into the lumen with room for the water to come back."""
    length_m: Length
    side_holes: list[SideHoles] | None = None
    """An empty list states that it has none, None that nobody has looked."""
    discharge_coefficient: Annotated[float, Field(gt=0, le=1)]

    @model_validator(mode="after")
    def _has_a_wall(self) -> InjectorNozzle:
        if self.outer_m <= max(self.bore_m.nominal, self.outlet_m.nominal):
            raise ValueError("the nozzle is not wider outside than inside|outer larger than bore and outlet")
        return self


class FlushingSleeve(_Stocked):
    """A soft sleeve that grips the outside of a tube and feeds its bore."""

    kind: Literal["flushing sleeve"]
    near: Connector
    grips: Connector
    """Female; its size is the tube diameter it grips, the whole range as tolerance."""
    inner_m: Bore
    """Inner diameter of the sleeve around the piece."""
    bore_m: Bore
    """Passage between its connector and the piece."""
    length_m: Length
    least_overlap_m: Distance
    """Length of tube it has to cover."""
    end_cap: bool
    """Whether its end is closed around the tube; without a cap some water runs along the outside of the piece."""
    outer_m: Size | None = None
    """Its outer diameter; None where nobody has stated it."""

    @model_validator(mode="after")
    def _grips_a_stated_tube(self) -> FlushingSleeve:
        if self.grips.gender is not Gender.FEMALE or self.grips.size_m is None:
            raise ValueError("what it grips is not stated|grips: a female connector with the tube diameter as size")
        if self.least_overlap_m >= self.length_m.nominal:
            raise ValueError("it has to cover more than its own length|least_overlap shorter than length")
        return self


class Adapter(_Stocked):
    """Joins two connectors that do not join by themselves."""

    kind: Literal["adapter"]
    near: Connector
    far: Connector
    bore_m: Bore
    length_m: Length
    loss: Loss | None = None
    """In velocity heads of its bore, beyond the steps to its neighbours; the site's default where not stated."""
    outer_m: Size | None = None
    """Its outer diameter; None where nobody has stated it."""


class Strainer(_Stocked):
    """A fine sieve in line that keeps particles out of narrow lumens."""

    kind: Literal["strainer"]
    near: Connector
    far: Connector
    bore_m: Bore
    length_m: Length
    loss: Loss
    """In velocity heads of its bore, when free of debris."""
    outer_m: Size | None = None
    """Its outer diameter; None where nobody has stated it."""


class Cap(_Stocked):
    """Closes an unused port."""

    kind: Literal["cap"]
    near: Connector
    """Its own end, which mates with what it closes: the end of a port's hose, a nozzle's thread, a taper."""
    outer_m: Size | None = None
    """Its outer diameter; None where nobody has stated it."""
    length_m: Size | None = None
    """How far it stands out from the port; None where nobody has stated it."""


class Pod(_Stocked):
    """A lidded fine basket for the small parts of one set."""

    kind: Literal["pod"]
    inner_width_m: Size
    inner_depth_m: Size
    inner_height_m: Size
    mesh: WireMesh | None = None
    """What floor, walls and lid are made of; None where nobody has stated it."""


class Net(_Stocked):
    """A hold-down net over light pieces in an open basket."""

    kind: Literal["net"]
    mesh: WireMesh | None = None
    """None where nobody has stated it."""


class OpticHolder(_Stocked):
    """A cushioned holder for a rigid optic."""

    kind: Literal["optic holder"]
    holds_length_m: Size
    """Longest optic it takes."""
    holds_width_m: Size
    """Thickest optic it takes."""


Accessory = Annotated[
    Annotated[Hose, Tag("kind: hose")]
    | Annotated[InjectorNozzle, Tag("kind: injector nozzle")]
    | Annotated[FlushingSleeve, Tag("kind: flushing sleeve")]
    | Annotated[Adapter, Tag("kind: adapter")]
    | Annotated[Strainer, Tag("kind: strainer")]
    | Annotated[Cap, Tag("kind: cap")]
    | Annotated[Pod, Tag("kind: pod")]
    | Annotated[Net, Tag("kind: net")]
    | Annotated[OpticHolder, Tag("kind: optic holder")],
    told_apart_by("kind"),
]
"""Any accessory."""
ChainLink = Hose | InjectorNozzle | FlushingSleeve | Adapter | Strainer
"""What can stand in a connector chain."""
