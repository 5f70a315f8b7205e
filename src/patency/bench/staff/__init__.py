"""Accounts: who has a badge and a PIN, and what each may do."""
