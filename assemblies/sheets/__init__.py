"""Sheets ready to cut: panels nested on the shop's stock, marked, in cutting order, with their time and cost.

Comes in: products, their copies and the shop's shelf.  Goes out: `LaidSheets`, with the bytes of their files.  Nothing is
written to disk here, and no sheet leaves that the verifier of the nest has not measured.
"""
