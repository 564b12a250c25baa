"""What the grower owns and wrote: settings, varieties, logbook; read, checked and replayed into lots."""
