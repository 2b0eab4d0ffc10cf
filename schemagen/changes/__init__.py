"""What changed between two lists: found, told in words, and drawn."""
