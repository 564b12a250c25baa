"""The feeds over HTTP, and the bench page to log from; the keys of both. Flask is imported only to serve."""
