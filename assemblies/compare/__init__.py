"""What changed between two versions of a product, by geometry: which plates, and which panels to cut again.

Comes in: two manifests, of folders that were built or of designs as they are now or were at a revision.  Goes out: what is the
same, moved, changed, new and gone, as plain data, in words, as pictures and as a page.
"""
