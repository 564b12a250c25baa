"""What each day of the year brings at a propagator's site, and what that asks of each lot of cuttings."""
