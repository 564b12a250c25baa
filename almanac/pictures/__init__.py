"""Drawings of a nursery and its site, as files; the plotting library is imported only when one is asked for."""
