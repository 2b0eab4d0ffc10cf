"""Part kinds: what a kind means and how its symbol looks, read from symbols/."""
