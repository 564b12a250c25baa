"""The plan as iCalendar: entries made of it, what the last file said, and the files written whole."""
