"""What the next person needs: valves, drains, vents, filters, readings."""
