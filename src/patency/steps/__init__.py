"""What a person does with Patency, one module each: the one place that reads, computes and writes."""

from patency.steps.self_check import self_check, self_check_data, self_check_report

__all__ = ["self_check", "self_check_data", "self_check_report"]
