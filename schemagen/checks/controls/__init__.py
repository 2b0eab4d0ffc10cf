"""Signals: what tells what to start and stop."""
