"""Backprobe: Markdown procedure pages in, a checked and searchable fault index out."""

__version__ = "0.1.0"
