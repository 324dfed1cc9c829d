"""Looking at solids: visible edges exactly or by polygons, shading, and meshes for viewers that know no B-rep.

Comes in: placed solids and a view.  Goes out: arrays and plane segments; no file is written here.
"""
