"""Figures: flows, losses, volumes, pressures, temperatures."""
