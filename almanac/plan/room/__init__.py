"""How much place cuttings take in bins, under lamps and outside, by chance and by day; pots and supplies. Pure."""
