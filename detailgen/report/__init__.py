"""Findings and numbers as text, JSON, Markdown, JUnit XML and one page; nothing here prints."""
