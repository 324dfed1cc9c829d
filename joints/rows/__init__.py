"""Rows of things along a joint line: counted, pitched or placed by hand, spread over what is free.

Comes in: free stretches and sizes.  Goes out: places.  What is chosen here must pass the proof's own checks.
"""
