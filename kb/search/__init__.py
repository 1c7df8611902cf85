"""Search: one index of all nodes, asked at the terminal and, as shards, in the browser."""
