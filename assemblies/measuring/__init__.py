"""Measuring the real sheet: a coupon to cut, and what caliper and hand then say of kerf and fits.

Comes in: readings in mm.  Goes out: the coupon's files, and numbers with their uncertainty for the shop file.
"""
