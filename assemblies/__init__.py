"""The product: collect plates, join them, prove that they fit, write what the shop needs."""

from .assembly import Assembly, PlacedAssembly

__all__ = ["Assembly", "PlacedAssembly"]
