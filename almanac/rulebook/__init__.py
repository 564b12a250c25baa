"""The lines of horticulture as data: what may stand in a rule file, and the shipped and own rules as one rulebook."""
