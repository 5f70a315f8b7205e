"""Writes the page of published checks from the list that ships with the package: ``python docs/make_checks.py``."""

from __future__ import annotations

from pathlib import Path

from patency.steps import published_checks

PAGE = Path(__file__).with_name("published-checks.md")


def page() -> str:
    """Return the page's text."""
    lines = [
        "# Published checks",
        "",
        "`patency self-check` computes each of these on your own machine and says whether it agrees;",
        "`--pdf FILE` writes the table as a file for the quality records. This page is made from the same list by",
        "`docs/make_checks.py`. Agreement shows that the formulas are computed as published. It validates no process.",
        "",
        "| topic | what | source | expected | tolerance |",
        "| --- | --- | --- | --- | --- |",
    ]
    for check in published_checks():
        unit = "" if check.unit == "1" else f" {check.unit}"
        tolerance = f"{check.tolerance:.2g} ({check.basis})"
        lines.append(f"| {check.topic} | {check.name} | {check.source} | {check.expected:.9g}{unit} | {tolerance} |")
    lines += [
        "",
        "Checks that need a library or more time than a department has run with the project's tests: the EPANET",
        "engine on hundreds of random networks, two general property and fluid libraries, worked examples of a",
        "textbook. They stand in `tests/published/`, one file for each authority, with the agreement reached at its",
        "head.",
        "",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
