"""A comparison to look at: changed panels drawn on each other, one page without scripts, and the folder that holds both.

Comes in: what `compare` found.  Goes out: SVG, HTML, and a folder written whole or not at all.
"""
