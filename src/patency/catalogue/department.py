"""A department: everything that exists there, as one value."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from patency.catalogue.accessories import Accessory
from patency.catalogue.carriers import Carrier
from patency.catalogue.commissioning import CommissionedFit
from patency.catalogue.connectors import ConnectorFamily
from patency.catalogue.fields import Described, Language, Name
from patency.catalogue.instructions import ProcessingInstructions
from patency.catalogue.instruments import InstrumentType
from patency.catalogue.limits import SiteLimits
from patency.catalogue.machines import Machine, MachineKind
from patency.catalogue.programmes import Programme
from patency.catalogue.sets import Day, ReferenceLoad, SetType
from patency.catalogue.steam import SteamProgramme


class Department(Described):
    """A sterile supply department and what it works with.

    A folder of YAML files holds these keys in any arrangement; each key may be spread over several files.
    """

    site: Name
    """Name of the place."""
    languages: Annotated[list[Language], Field(min_length=1)]
    """Languages in which instructions can be read here."""
    connector_families: dict[Name, ConnectorFamily] = {}
    instruments: dict[Name, InstrumentType] = {}
    instructions: dict[Name, ProcessingInstructions] = {}
    carriers: dict[Name, Carrier] = {}
    accessories: dict[Name, Accessory] = {}
    machine_kinds: dict[Name, MachineKind] = {}
    machines: dict[Name, Machine] = {}
    programmes: dict[Name, Programme] = {}
    steam_programmes: dict[Name, SteamProgramme] = {}
    """Programmes of the steam sterilizers, where the department has any."""
    sets: dict[Name, SetType] = {}
    limits: SiteLimits = SiteLimits()
    reference_loads: dict[Name, ReferenceLoad] = {}
    commissioned: dict[Name, CommissionedFit] = {}
    """What was fitted to measurements of its own; `patency commission fit` writes each fit into a file of its own."""
    day: Day | None = None
    """The working day to plan, where one is given."""
