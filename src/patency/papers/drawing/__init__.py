"""Drawings to scale from catalogue data, as SVG in millimetres on paper."""
