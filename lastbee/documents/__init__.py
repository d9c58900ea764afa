"""The plan on the terminal, in JSON and on paper."""
