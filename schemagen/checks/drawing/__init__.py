"""Data and drawing hygiene."""
