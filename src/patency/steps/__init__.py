"""What a person does with Patency, one module each: the one place that reads, computes and writes."""

from patency.steps.check_site import SiteCheck, check_site
from patency.steps.read_site import read_site
from patency.steps.self_check import published_checks, self_check, self_check_data, self_check_report

__all__ = [
    "SiteCheck",
    "check_site",
    "published_checks",
    "read_site",
    "self_check",
    "self_check_data",
    "self_check_report",
]
