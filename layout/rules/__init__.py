"""What must not be passed: `rules.toml` has values and sources; who counts as what, what is open to whom."""
