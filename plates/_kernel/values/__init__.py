"""The kernel's smallest values, locations and failures, as plain numbers and as our errors.

May be used by everything in `plates`, since nothing here knows more of ours than the errors.
"""
