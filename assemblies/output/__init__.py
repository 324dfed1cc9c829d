"""The output folder: everything that the shop needs, written at once or not at all, and what its manifest tells.

Comes in: a product and its laid-out sheets.  Goes out: a folder.
"""
