"""A plain report to file: a heading, a table, notes."""

from patency.papers.report.report import Report, report_pdf, report_text

__all__ = ["Report", "report_pdf", "report_text"]
