"""What a joint kind is and what it gives back: claims on material, fits to be measured, remarks, bought parts, relief.

Comes in: a kind's own numbers.  Goes out: the vocabulary in which every kind speaks to the resolver and the proof.
"""
