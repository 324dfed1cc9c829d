"""Where two plates meet: the joint line, and what each plate looks like along it.

Comes in: two held faces.  Goes out: a `Contact`, or an error that says by how much they miss each
other.  No joint kind is known here.
"""
