"""Circuits solved: what moves, what an instrument shows, and whether the pages' claims hold."""
