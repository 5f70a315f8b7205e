"""The command line: translates words into steps and their answers into lines; it decides nothing."""

from patency.cli.answers import Answer, Outcome, PatencyCommand, PatencyGroup, Refusal
from patency.cli.commands import main

__all__ = ["Answer", "Outcome", "PatencyCommand", "PatencyGroup", "Refusal", "main"]
