"""A thin shell: reads options and the clock, calls one action, prints. One file a group of commands."""
