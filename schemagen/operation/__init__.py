"""Operating states: who calls, what stands open, where water moves."""
