"""Whether the network is joined up: open ends, islands, wrong openings."""
