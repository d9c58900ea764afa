"""The migrations; a published one is never changed again."""
