"""Where each pipe runs."""
