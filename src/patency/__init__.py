"""Patency: the state of being open.

Plans how every piece of a minimally invasive instrument set is placed and connected in a
washer-disinfector, computes the water flow in every lumen and judges the cycle from its record.
"""
