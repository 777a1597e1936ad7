"""Findings and numbers as text and JSON; nothing here prints."""
