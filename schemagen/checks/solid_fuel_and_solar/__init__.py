"""Fires and collectors, which cannot be switched off."""
