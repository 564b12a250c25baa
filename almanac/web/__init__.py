"""The feeds over HTTP, and the bench page to log from. Imported only by the commands that serve."""
