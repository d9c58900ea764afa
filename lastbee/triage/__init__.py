"""What the caller most likely has, and what to tell them now."""
