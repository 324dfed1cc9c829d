"""Sheets taken off the shop file's counts, and offcuts put there: together with the files that were written, or not at all.

Comes in: laid-out sheets and the shop file.  Goes out: the shop file brought up to date, once for each job.
"""
