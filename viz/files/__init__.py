"""Folders that commands leave: whole or not at all, and nothing of others touched."""
