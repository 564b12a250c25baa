"""Reasons, dates, quantities and cautions as sentences, once, for calendar, terminal and page. Pure."""
