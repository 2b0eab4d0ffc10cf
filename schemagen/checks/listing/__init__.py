"""The list as written: tags, words, ends and values."""
