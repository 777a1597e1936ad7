"""Draws and checks sections of low-slope roof details."""
