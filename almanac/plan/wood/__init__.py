"""Dormant wood: when it is bare, may be cut, kept, sold, posted and stuck, and what there is to sell. Pure."""
