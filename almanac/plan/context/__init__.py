"""The day that is planned from: the nursery as it stands, its site, its working and post days. Pure."""
