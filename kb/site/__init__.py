"""The static site: pages, pictures and assets written from a base and its graph."""
