"""Tables and lists for a person at a terminal, and the same as JSON. Pure: text and objects out, nothing printed."""
