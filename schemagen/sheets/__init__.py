"""Drawings and tables on sheets."""
