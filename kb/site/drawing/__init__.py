"""Circuits drawn: where each part, wire and label stands, and what each position and fault shows."""
