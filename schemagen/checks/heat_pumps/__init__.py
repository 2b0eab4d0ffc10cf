"""What heat pumps ask of their water."""
