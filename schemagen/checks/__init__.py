"""One file per check; each docstring is its page."""
