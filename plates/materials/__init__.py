"""What sheet material is: its thickness, kerf, clearance and strength, and which materials no laser may cut.

Comes in: numbers as bought and as measured.  Goes out: `Stock`, frozen.  Limits on thickness and names of fits are listed here
and nowhere else.
"""
