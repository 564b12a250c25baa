"""What lots, bins and plants ask for: programmes whose days are worked out, and plain tasks. Pure."""
