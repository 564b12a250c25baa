"""From plants wanted by a day back to what to stick when: how many, in which bins, in how many waves. Pure.

A wave is a lot to come: it is potted up, or lifted from its bed, on a day known by chance, and of its cuttings a share
finishes that is itself drawn from a Beta. What follows potting are waits that hardly differ, but for frost: a lot that
is potted too late for this year is ready in the next. So a wave is in time if it is potted by the last day from which a
lot still gets ready. Waves of one bench are early or late together, as what they have in common (the grower, the
variety) weighs most in the spread of their days; each has its own luck in striking.

The chance is split evenly between days and luck: the stick day is the last with the root of the wanted chance of being
in time, the cuttings the fewest that then reach the whole of it; instead of searching both at once, which gains a few
cuttings and explains nothing. `tests/outside/test_backwards.py` replays it with drawn cuttings: within five points.
"""
