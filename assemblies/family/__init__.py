"""Families: one design at many sizes, each proven in a process pool, with a row, a folder and a picture for every variant.

Comes in: a design file and a table of variants.  Goes out: a folder of output folders, `family.csv`, `family.json` and one
page.  Nothing here imports the kernel into the process that leads: readers and builders are processes of their own.
"""
