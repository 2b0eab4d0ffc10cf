"""Where each part stands."""
