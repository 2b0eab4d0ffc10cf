"""Words that every stage uses; imports nothing else of ours."""
