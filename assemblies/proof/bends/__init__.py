"""What bends: whether something holds each bend over all of its length, and whether walls that go round are closed.

Comes in: `Resolved` and the bent sheets as the design said them.  Goes out: findings.
"""
