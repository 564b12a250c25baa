"""On which day: visits to the bench, windows that share a day, and what was published before. Pure."""
