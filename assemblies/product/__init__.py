"""What a finished product can tell: its steps of assembly, its cautions, its entries in every JSON output; and `Assembly`.

Comes in: an assembly or a `Product`.  Goes out: plain data and words.
"""
