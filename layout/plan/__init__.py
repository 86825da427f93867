"""The coach planning one drill: drill and venue, the Plan, its tape card, hurdles and notes."""
