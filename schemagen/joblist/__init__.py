"""The list as the user wrote it, in any of its forms."""
