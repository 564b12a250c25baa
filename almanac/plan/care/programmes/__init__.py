"""The programmes, a file or folder each, by the name of its rule file in `rules/care`."""
