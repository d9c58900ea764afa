"""What a honey bee colony is: development, flight, stores, comb, with sources."""
