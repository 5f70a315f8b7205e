"""A quality engineer checks the installed package against published values, on the department's own machine."""

from patency.steps.self_checking.check import CheckResult, PublishedCheck
from patency.steps.self_checking.checking import SelfCheck, published_checks, self_check
from patency.steps.self_checking.reporting import self_check_data, self_check_report

__all__ = [
    "CheckResult",
    "PublishedCheck",
    "SelfCheck",
    "published_checks",
    "self_check",
    "self_check_data",
    "self_check_report",
]
