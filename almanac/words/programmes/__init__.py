"""What each programme came to, in words: a file each, by the name of its rule file in `rules/care`."""
