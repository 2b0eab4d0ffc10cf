"""Lessons: build-up sheets, worksheets, questions on states and fault-finding papers, each with its key."""
