"""How fits come out on real sheet: thickness over its tolerance, kerf over its uncertainty, the machine's own error.

Comes in: a proven `Product`, whose openings say what of sheet and kerf they hang on, and the shop in force.  Goes out: for
every sort of opening the worst case and the shares of a seeded Monte Carlo, and what helps first.  Nothing is proven here of
the product as drawn, and no file is read.
"""
