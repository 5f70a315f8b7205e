"""Signing in with badge and PIN, locking, leaving, changing the language."""
