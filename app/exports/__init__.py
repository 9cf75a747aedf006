"""Readings and charts for other programs and for people."""
