"""Flat shapes as DXF, SVG and PDF: true size in millimetres, the same bytes every time.

Comes in: panels.  Goes out: bytes.  `dxf` is the one writer that calls ezdxf.
"""
