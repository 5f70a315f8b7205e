"""The bench for programs: the same steps, people and rules as the pages, in JSON under ``/api/v1``."""

from patency.bench.interface.making import make_interface

__all__ = ["make_interface"]
