"""What a design says, collected and nothing more: plates, where they stand, sheets that bend, joins as asked for.

Comes in: calls from a design file.  Goes out: `Collected`, which the resolver reads.  Nothing is cut here.
"""
