"""Mistakes put on purpose into a correct list: to try the checks, and to be found in lessons."""
