"""Living hinges: two plates and a bent strip of slits between them, cut flat as one panel.

`living_hinge` is the kind; `slits` the lattice; `hinge_mechanics` and `torsion` what it bears.
"""
