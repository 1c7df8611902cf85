"""From bytes to a base: Markdown, nodes, facts, findings, circuits, lessons, history, names."""
