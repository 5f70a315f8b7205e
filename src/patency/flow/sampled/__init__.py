"""How likely lumens fall short: tolerances drawn at random, thousands of loads solved, each held against its limits."""

from patency.flow.sampled.margin import LoadMargin, LumenMargin, Spread, sampled_margin

__all__ = ["LoadMargin", "LumenMargin", "Spread", "sampled_margin"]
