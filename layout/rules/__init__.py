"""What must not be passed: how an athlete counts, and what is open to them."""
