"""Sheets to files, one file per format."""
