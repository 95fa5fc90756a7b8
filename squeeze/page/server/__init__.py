"""The server: who may ask, what a request may hold, and the processes that answer."""
