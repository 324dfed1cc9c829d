"""Processes in which designs run: started early, ended with all that they start, heard in what they print and read.

Comes in: a function that answers on a connection.  Goes out: its process, whatever a design does to it.
"""
