"""The use cases, one function each, that command line and page call: look, record, refresh."""
