"""Safety of sealed and open-vented systems: expansion, relief, vents, feeds."""
