"""Which other things one thing touched, before and after it, each with the reason and how sure it is."""

from patency.ledger.tracing.asking import trace
from patency.ledger.tracing.items import Direction, Item, Shared, Trace

__all__ = ["Direction", "Item", "Shared", "Trace", "trace"]
