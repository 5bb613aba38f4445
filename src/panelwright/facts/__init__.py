"""What people know about a repair: facts, their log, and the repair file."""
