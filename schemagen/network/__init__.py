"""Parts, ports and pipes as a directed graph, and the waters in it."""
