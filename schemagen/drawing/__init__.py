"""Values to shapes, with layer and meaning; no ink."""
