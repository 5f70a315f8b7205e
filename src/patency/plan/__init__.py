"""Which arrangement: plans of loads with what is proven about them, and the second, independent check of a plan."""

from patency.plan.checker import check_plan, open_points
from patency.plan.checking.finding import Finding
from patency.plan.checking.rule import Rule
from patency.plan.checking.rules import RULES

__all__ = ["RULES", "Finding", "Rule", "check_plan", "open_points"]
