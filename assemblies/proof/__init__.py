"""The proof: everything that can be known to be wrong before a sheet is cut, measured on the finished solids.

Comes in: `Resolved`.  Goes out: findings, each with its code, plates, place and numbers, in a stable order; and the `Product`.
Nothing is repaired here, and nothing is left out silently: what could not be checked is a finding too.
"""
